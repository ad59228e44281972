"""What is lit when: pieces, blocks, precedence, lighting points, sequence, ways out."""
