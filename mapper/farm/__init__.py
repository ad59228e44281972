"""The nouns: paddock, asset, neighbour, harvester, crew, local limits, layers and their grid."""
