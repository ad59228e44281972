<?xml version="1.0" encoding="utf-8"?>
<!DOCTYPE TS>
<TS version="2.1" language="de">
<context>
    <name>window</name>
    <message>
        <source>A line drawn is</source>
        <translation>Eine Linie ist</translation>
    </message>
    <message>
        <source>A new farm</source>
        <translation>Ein neuer Betrieb</translation>
    </message>
    <message>
        <source>A reading at the paddock says more than a forecast. Put yours in; they are held together.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>A round of the sample farm</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Across</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Add another person&apos;s record</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Afterwards: what burnt, what was missed. Now open your own boundary, or draw a paddock.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Air</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Air before the fire</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>All paddocks</source>
        <translation>Alle Schläge</translation>
    </message>
    <message>
        <source>All the way round</source>
        <translation>Ganz herum</translation>
    </message>
    <message>
        <source>Along</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>And </source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Area</source>
        <translation>Fläche</translation>
    </message>
    <message>
        <source>Area so far</source>
        <translation>Fläche bisher</translation>
    </message>
    <message>
        <source>As burnt</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>At</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Backspace takes back a corner. Arrow keys nudge it 1 m. Hold Alt for no snapping. Esc leaves the drawing.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Ban for that day</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Begin the next season ...</source>
        <translation>Nächste Saison beginnen ...</translation>
    </message>
    <message>
        <source>Blocks, as planned and as burnt</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Breaks</source>
        <translation>Schneisen</translation>
    </message>
    <message>
        <source>Bring in</source>
        <translation>Einlesen</translation>
    </message>
    <message>
        <source>Bring in a forecast ...</source>
        <translation>Vorhersage einlesen ...</translation>
    </message>
    <message>
        <source>Bring in a harvester log</source>
        <translation>Mähdrescher-Aufzeichnung einlesen</translation>
    </message>
    <message>
        <source>Bring in a harvester log ...</source>
        <translation>Mähdrescher-Aufzeichnung einlesen ...</translation>
    </message>
    <message>
        <source>Bring in a picture ...</source>
        <translation>Bild einlesen ...</translation>
    </message>
    <message>
        <source>Bring in a probe&apos;s trace</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Bring in boundaries ...</source>
        <translation>Grenzen einlesen ...</translation>
    </message>
    <message>
        <source>Bring in breaks ...</source>
        <translation>Schneisen einlesen ...</translation>
    </message>
    <message>
        <source>Bring in counts</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Bring in elevation ...</source>
        <translation>Höhenmodell einlesen ...</translation>
    </message>
    <message>
        <source>Bring in houses, lines, trees ...</source>
        <translation>Häuser, Leitungen, Bäume einlesen ...</translation>
    </message>
    <message>
        <source>Bring in last season&apos;s rows</source>
        <translation>Schwade der letzten Saison einlesen</translation>
    </message>
    <message>
        <source>Bring in local limits</source>
        <translation>Örtliche Grenzwerte einlesen</translation>
    </message>
    <message>
        <source>Bring in local limits ...</source>
        <translation>Örtliche Grenzwerte einlesen ...</translation>
    </message>
    <message>
        <source>Bring in neighbours ...</source>
        <translation>Nachbarn einlesen ...</translation>
    </message>
    <message>
        <source>Bring in the lighter&apos;s track</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Bring in the meter&apos;s log</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Bring it in</source>
        <translation>Einlesen</translation>
    </message>
    <message>
        <source>Burn</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Burn order</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>By</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Change a limit</source>
        <translation>Grenzwert ändern</translation>
    </message>
    <message>
        <source>Change of plan</source>
        <translation>Planänderung</translation>
    </message>
    <message>
        <source>Check breaks</source>
        <translation>Schneisen prüfen</translation>
    </message>
    <message>
        <source>Click a line to go back or forward to it. Nothing is lost until you change something else.</source>
        <translation>Ein Klick auf eine Zeile geht dorthin zurück oder vor. Verloren geht nichts, solange du nichts anderes änderst.</translation>
    </message>
    <message>
        <source>Click each corner. Press Enter or </source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Close</source>
        <translation>Schließen</translation>
    </message>
    <message>
        <source>Close paddock</source>
        <translation>Schlag schließen</translation>
    </message>
    <message>
        <source>Close the burn</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Closer</source>
        <translation>Näher</translation>
    </message>
    <message>
        <source>Columns as you put them right before for a log like this.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Copy the paper tally, or keep it as you go.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Corners</source>
        <translation>Ecken</translation>
    </message>
    <message>
        <source>Cost of a person, an hour</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Count on rows that burnt and on places that did not: then it shows.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Crew</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Crop</source>
        <translation>Frucht</translation>
    </message>
    <message>
        <source>Crop burnt</source>
        <translation>Frucht</translation>
    </message>
    <message>
        <source>Ctrl+B</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Ctrl+F</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Ctrl+H</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Ctrl+L</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Ctrl+O</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Ctrl+P</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Ctrl+Return</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Ctrl+S</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Ctrl+Shift+S</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Ctrl+Shift+Z</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Ctrl+Space</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Ctrl+Y</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Ctrl+Z</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Cured</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Cut at</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Cutting width</source>
        <translation>Schnittbreite</translation>
    </message>
    <message>
        <source>Do again</source>
        <translation>Wiederholen</translation>
    </message>
    <message>
        <source>Do not light the picked row</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Downwind side first, then work into the wind.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Drag a block up or down in the table to light it earlier or later (Alt and arrow keys too).</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Draw</source>
        <translation>Zeichnen</translation>
    </message>
    <message>
        <source>Draw a paddock</source>
        <translation>Schlag zeichnen</translation>
    </message>
    <message>
        <source>Draw a paddock on the map</source>
        <translation>Schlag auf der Karte zeichnen</translation>
    </message>
    <message>
        <source>Draw here</source>
        <translation>Hier zeichnen</translation>
    </message>
    <message>
        <source>Draw what burnt</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Driven</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Drop a boundary or a harvester log here</source>
        <translation>Grenze oder Mähdrescher-Aufzeichnung hierher ziehen</translation>
    </message>
    <message>
        <source>E</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Each hour of the forecast is held against the limits you typed in. An hour that is not known is never inside them. Drag the hour on the strip to see wind, exposed edges and smoke at that time.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Each side is held against your own limit and against the fire that the forecast would give. Where a break is short the table says by how much, and Show goes there.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Each side of the paddock against your own limits and the forecast fire. Show goes to the place.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Evening</source>
        <translation>Abend</translation>
    </message>
    <message>
        <source>Every entry</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Every night kept beside this farm.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Every row is written down as burnt: nothing to look for.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Everything on paper says plan </source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>F</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>F1</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Farther</source>
        <translation>Weiter weg</translation>
    </message>
    <message>
        <source>Figure</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Finish it</source>
        <translation>Fertig</translation>
    </message>
    <message>
        <source>Fire out here at </source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Fire that got away</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Fire that got away: </source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Firebreaks round the paddock and what they must guard.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>First values</source>
        <translation>Erste Werte</translation>
    </message>
    <message>
        <source>Fit settings to </source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Fit settings to the ends</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Fix the picked block&apos;s start</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Fixed by you</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Forecast</source>
        <translation>Vorhersage</translation>
    </message>
    <message>
        <source>Forget the rows seen here</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>From after</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>From before</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>From, to</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>From: </source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>GDA2020 / </source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>GDA2020, </source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Gate</source>
        <translation>Tor</translation>
    </message>
    <message>
        <source>GeoPackage, Shapefile, GeoJSON, KML or KMZ; logs and forecasts as CSV. Nothing leaves this computer.</source>
        <translation>GeoPackage, Shapefile, GeoJSON, KML oder KMZ; Aufzeichnungen und Vorhersagen als CSV. Nichts verlässt diesen Rechner.</translation>
    </message>
    <message>
        <source>Go back to a version saved</source>
        <translation>Zu einer gespeicherten Fassung zurück</translation>
    </message>
    <message>
        <source>Go to paddock</source>
        <translation>Zum Schlag</translation>
    </message>
    <message>
        <source>Go to rows</source>
        <translation>Zu den Schwaden</translation>
    </message>
    <message>
        <source>Go to sheets</source>
        <translation>Zu den Blättern</translation>
    </message>
    <message>
        <source>Grain yield</source>
        <translation>Kornertrag</translation>
    </message>
    <message>
        <source>Grid</source>
        <translation>Gitter</translation>
    </message>
    <message>
        <source>Grid of the file</source>
        <translation>Gitter der Datei</translation>
    </message>
    <message>
        <source>Harvester</source>
        <translation>Mähdrescher</translation>
    </message>
    <message>
        <source>Headland laps</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Heaps</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Heat</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Heat at the soil&apos;s surface</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Heat: degree-seconds above air. Burn: seconds above 200 degC. Kills: seed at the surface, by published heats (Walsh &amp; Newman 2007, Norsworthy et al. 2020).</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>History</source>
        <translation>Verlauf</translation>
    </message>
    <message>
        <source>History ...</source>
        <translation>Verlauf ...</translation>
    </message>
    <message>
        <source>Hour</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Hours of the night</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>House</source>
        <translation>Haus</translation>
    </message>
    <message>
        <source>How rows burn here</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>How sure</source>
        <translation>Wie sicher</translation>
    </message>
    <message>
        <source>In file</source>
        <translation>In der Datei</translation>
    </message>
    <message>
        <source>In use: </source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>It counts as there from then on: lay only what is made, or will be before the burn.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>It drops out at the hour shown</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Its outline from a track</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>K</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Keep it</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Keep the count</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Keep the reading</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Keep these rows for next season</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Key to the marks</source>
        <translation>Zeichenerklärung</translation>
    </message>
    <message>
        <source>Kills</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Known from</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>L</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Language</source>
        <translation>Sprache</translation>
    </message>
    <message>
        <source>Latitude, south is minus</source>
        <translation>Breite, Süd ist minus</translation>
    </message>
    <message>
        <source>Leave drawing</source>
        <translation>Zeichnen verlassen</translation>
    </message>
    <message>
        <source>Leave it</source>
        <translation>Lassen</translation>
    </message>
    <message>
        <source>Leave them</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Length</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Light or dark</source>
        <translation>Hell oder dunkel</translation>
    </message>
    <message>
        <source>Lightest, heaviest</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Limit</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Limits</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Load</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Load in the row</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Load, middle</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Local limit for an edge: </source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Local limits</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Local limits (*.toml)</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Log points, by</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Longitude, west is minus</source>
        <translation>Länge, West ist minus</translation>
    </message>
    <message>
        <source>Look again</source>
        <translation>Noch einmal ansehen</translation>
    </message>
    <message>
        <source>Look at it so</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Look at the week of evenings</source>
        <translation>Die Abende der Woche ansehen</translation>
    </message>
    <message>
        <source>Look here in the next crop</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Looked at</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Looked at by</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Mark row ends on the map</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Move the wind change</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>N</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Name</source>
        <translation>Name</translation>
    </message>
    <message>
        <source>Next</source>
        <translation>Weiter</translation>
    </message>
    <message>
        <source>Next corner</source>
        <translation>Nächste Ecke</translation>
    </message>
    <message>
        <source>Night and plan</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Nights kept beside this farm</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>No forecast yet. Open a forecast file, and the hours are judged.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>No harvester log yet. Rows are laid by the paddock&apos;s cutting width, bearing and laps.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>No local limit for a paddock&apos;s edge is typed in.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>No night is kept beside this farm yet. The Record step opens one.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>No record is open. It keeps the rows of the plan as they were printed.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Not before</source>
        <translation>Nicht vor</translation>
    </message>
    <message>
        <source>Not checked yet. Breaks are held against your limits and the forecast fire.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Not now</source>
        <translation>Nicht jetzt</translation>
    </message>
    <message>
        <source>Not saved</source>
        <translation>Nicht gespeichert</translation>
    </message>
    <message>
        <source>Not told after all</source>
        <translation>Doch nicht benachrichtigt</translation>
    </message>
    <message>
        <source>Note as told</source>
        <translation>Als benachrichtigt vermerken</translation>
    </message>
    <message>
        <source>Noticed</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>On a row that burnt</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>On the night: keep the time of each entry</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>On the sheets</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>One row for each pass of the harvester; from a pattern where there is no log.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>One row of straw and chaff lies behind each pass of the harvester. A harvester log says where; without one the rows are laid by cutting width and bearing. Look at both ends and at the headlands, and mend them.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Only a part (P), m</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Open a boundary file</source>
        <translation>Grenzdatei öffnen</translation>
    </message>
    <message>
        <source>Open a farm</source>
        <translation>Betrieb öffnen</translation>
    </message>
    <message>
        <source>Open a farm ...</source>
        <translation>Betrieb öffnen ...</translation>
    </message>
    <message>
        <source>Open a forecast</source>
        <translation>Vorhersage öffnen</translation>
    </message>
    <message>
        <source>Open a record from elsewhere</source>
        <translation>Protokoll von anderswo öffnen</translation>
    </message>
    <message>
        <source>Open last season&apos;s farm</source>
        <translation>Betrieb der letzten Saison öffnen</translation>
    </message>
    <message>
        <source>Open the record of this plan</source>
        <translation>Protokoll dieses Plans öffnen</translation>
    </message>
    <message>
        <source>Open the sample farm (invented)</source>
        <translation>Beispielbetrieb öffnen (erfunden)</translation>
    </message>
    <message>
        <source>Order</source>
        <translation>Reihenfolge</translation>
    </message>
    <message>
        <source>Other people&apos;s words</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Paddock</source>
        <translation>Schlag</translation>
    </message>
    <message>
        <source>Paddocks</source>
        <translation>Schläge</translation>
    </message>
    <message>
        <source>Paddocks to burn</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Paper</source>
        <translation>Papier</translation>
    </message>
    <message>
        <source>Part from</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Part to</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Peak</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>People to tell</source>
        <translation>Zu benachrichtigen</translation>
    </message>
    <message>
        <source>Pick a figure to read what it was worked out from. Marked ones lie past the range their source covers.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Pick a paddock on the map or here.</source>
        <translation>Wähle einen Schlag auf der Karte oder hier.</translation>
    </message>
    <message>
        <source>Pick an entry to see what it replaced or to correct it.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Pick somebody to note when they were told.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Place in degrees</source>
        <translation>Ort in Grad</translation>
    </message>
    <message>
        <source>Place in the grid</source>
        <translation>Ort im Gitter</translation>
    </message>
    <message>
        <source>Plan number</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Planned</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Plants</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Play the night</source>
        <translation>Nacht abspielen</translation>
    </message>
    <message>
        <source>Polygon</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Present</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Print</source>
        <translation>Drucken</translation>
    </message>
    <message>
        <source>Print record</source>
        <translation>Protokoll drucken</translation>
    </message>
    <message>
        <source>Print sheets</source>
        <translation>Blätter drucken</translation>
    </message>
    <message>
        <source>Put in a change</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Put in the reading</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Reaches</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Read at</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Read by</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Reading by the meter</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Readings of your own meter</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Ready</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Recent farms</source>
        <translation>Zuletzt geöffnete Betriebe</translation>
    </message>
    <message>
        <source>Record</source>
        <translation>Protokoll</translation>
    </message>
    <message>
        <source>Round the outside</source>
        <translation>Umfang</translation>
    </message>
    <message>
        <source>Row</source>
        <translation>Schwad</translation>
    </message>
    <message>
        <source>Row </source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Row in all</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Row, too heavy</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Row, too light</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Rows</source>
        <translation>Schwade</translation>
    </message>
    <message>
        <source>Rows by load</source>
        <translation>Schwade nach Auflage</translation>
    </message>
    <message>
        <source>Rows by load, </source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Rows end too early or too late? Mark where they really end.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Rows need a paddock first.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Rows run (grid bearing)</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Rows, by load</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>S</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Save</source>
        <translation>Speichern</translation>
    </message>
    <message>
        <source>Save as</source>
        <translation>Speichern unter</translation>
    </message>
    <message>
        <source>Save as ...</source>
        <translation>Speichern unter ...</translation>
    </message>
    <message>
        <source>Save as PDF</source>
        <translation>Als PDF speichern</translation>
    </message>
    <message>
        <source>Save as spreadsheet</source>
        <translation>Als Tabelle speichern</translation>
    </message>
    <message>
        <source>Save the report</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Saved</source>
        <translation>Gespeichert</translation>
    </message>
    <message>
        <source>Saved </source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Scale</source>
        <translation>Maßstab</translation>
    </message>
    <message>
        <source>Seconds between readings</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Shed</source>
        <translation>Schuppen</translation>
    </message>
    <message>
        <source>Sheet</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Sheets</source>
        <translation>Blätter</translation>
    </message>
    <message>
        <source>Show all of it</source>
        <translation>Alles zeigen</translation>
    </message>
    <message>
        <source>Show me round</source>
        <translation>Zeig mir alles</translation>
    </message>
    <message>
        <source>Side</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Snap to fences and corners</source>
        <translation>An Zäunen und Ecken fangen</translation>
    </message>
    <message>
        <source>Snap within</source>
        <translation>Fangen bis</translation>
    </message>
    <message>
        <source>Source</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Source: </source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Speed after</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Speed before</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Square corners</source>
        <translation>Rechte Winkel</translation>
    </message>
    <message>
        <source>Start with a boundary. The rest follows from it.</source>
        <translation>Beginne mit einer Grenze. Das Übrige folgt daraus.</translation>
    </message>
    <message>
        <source>Still to write</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Stop at </source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Stop now</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Stop the round</source>
        <translation>Rundgang beenden</translation>
    </message>
    <message>
        <source>Stop working</source>
        <translation>Rechnen anhalten</translation>
    </message>
    <message>
        <source>Stubble standing</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Take back</source>
        <translation>Zurücknehmen</translation>
    </message>
    <message>
        <source>Take it back</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Take it for this farm</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Take it off the map</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Take it out</source>
        <translation>Herausnehmen</translation>
    </message>
    <message>
        <source>Take out the last</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Take this night in hand</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Taken as</source>
        <translation>Gelesen als</translation>
    </message>
    <message>
        <source>Taken at</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Tell the fire authority at once; this page is written beside it.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The downwind side is lit first, then the work goes into the wind. Each block has a way out until a time. Drag blocks to change the order; the plan says what gets worse by it.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The fence is what everything else is measured from: draw it or open a file, then say crop, yield and cutting width. Draw roads, power lines, trees, houses, water and gates too: breaks, care distances and ways out follow from them.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The forecast hours, held against the limits you typed in.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The hours of the night. Outlined hours lie inside the limits; the others say why not. Drag the hour along the strip and watch wind and smoke.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The rows of </source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The rows of straw and chaff, found from the harvester&apos;s log. Thick ones hold more straw. Click one: its load along the row shows below.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The season</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The season ...</source>
        <translation>Die Saison ...</translation>
    </message>
    <message>
        <source>The small map then shows where it lands.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>There is no plan to print yet. Work out the order first.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>This farm is invented. Its fences, houses, water and power line were drawn or opened from files; everything else is measured from them.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Three ends at least, ten are good. Pick the paddock they are in, then fit.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Time</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Told</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Told at</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Told by</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Too heavy</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Tree</source>
        <translation>Baum</translation>
    </message>
    <message>
        <source>Type in or paste hours</source>
        <translation>Stunden eintippen oder einfügen</translation>
    </message>
    <message>
        <source>Unit</source>
        <translation>Einheit</translation>
    </message>
    <message>
        <source>Use the fitted settings</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Use these breaks</source>
        <translation>Diese Schneisen nehmen</translation>
    </message>
    <message>
        <source>Use these hours</source>
        <translation>Diese Stunden nehmen</translation>
    </message>
    <message>
        <source>Use these limits</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Use these rows</source>
        <translation>Diese Schwade nehmen</translation>
    </message>
    <message>
        <source>Value</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>W</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Wanted</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Wanted by: </source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Water</source>
        <translation>Wasser</translation>
    </message>
    <message>
        <source>Weed</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Weeds counted there</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Week of evenings</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>What</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>What happened</source>
        <translation>Was geschah</translation>
    </message>
    <message>
        <source>What happened: which rows burnt, when, what was missed or got away. It is kept beside the farm and is corrected by adding, never by taking away.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>What is known of the paddock. Every change can be taken back.</source>
        <translation>Was man vom Schlag weiß. Jede Änderung lässt sich zurücknehmen.</translation>
    </message>
    <message>
        <source>What is printed for the crew and the neighbours. A plan that is out of date cannot be printed.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>What is this step?</source>
        <translation>Was ist dieser Schritt?</translation>
    </message>
    <message>
        <source>What the crew, the neighbours and the fire authority get on paper. Print only when nothing is out of date; check each sheet against your permit before you light.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>What the map shows</source>
        <translation>Was die Karte zeigt</translation>
    </message>
    <message>
        <source>What to do</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>What was done</source>
        <translation>Was getan wurde</translation>
    </message>
    <message>
        <source>What would be brought in</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Where</source>
        <translation>Wo</translation>
    </message>
    <message>
        <source>Where does it lie? The nearest tenth of a degree is near enough to begin with.</source>
        <translation>Wo liegt er? Auf ein Zehntelgrad genau reicht für den Anfang.</translation>
    </message>
    <message>
        <source>Where from?</source>
        <translation>Woher?</translation>
    </message>
    <message>
        <source>Where the figures come from</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Where the figures come from ...</source>
        <translation>Woher die Zahlen kommen ...</translation>
    </message>
    <message>
        <source>Which grid is the file in?</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Who</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Who lights which rows, when, and where the way out is. Drag a block to change the order.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Why</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Width of the break</source>
        <translation>Breite der Schneise</translation>
    </message>
    <message>
        <source>Wind</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Wind change</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Wind change typed in</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Wind from</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>With last season&apos;s rows held, you see how much lies on the same strips.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Work out</source>
        <translation>Ausrechnen</translation>
    </message>
    <message>
        <source>Work out again</source>
        <translation>Neu ausrechnen</translation>
    </message>
    <message>
        <source>Work out rows</source>
        <translation>Schwade ausrechnen</translation>
    </message>
    <message>
        <source>Work out the order</source>
        <translation>Reihenfolge ausrechnen</translation>
    </message>
    <message>
        <source>Worked out from: </source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Working</source>
        <translation>Rechnet</translation>
    </message>
    <message>
        <source>Write more of it</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Write one down</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Write what is known now and the rest later. The permit and the local code say what is asked for.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Written</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Written by</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>done</source>
        <translation>fertig</translation>
    </message>
    <message>
        <source>not begun</source>
        <translation>nicht begonnen</translation>
    </message>
    <message>
        <source>out of date</source>
        <translation>überholt</translation>
    </message>
    <message>
        <source>printed</source>
        <translation>gedruckt</translation>
    </message>
    <message>
        <source>ready to print</source>
        <translation>druckbereit</translation>
    </message>
    <message>
        <source>working</source>
        <translation>rechnet</translation>
    </message>
</context>
</TS>
