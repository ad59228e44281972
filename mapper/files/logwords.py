"""The words by which logs of many makes and languages name their columns."""

# Meaning, words wanted in the plain name, words that rule it out; earlier rows are preferred within a meaning.
# Names are often cut and stripped of vowels ("swth_wdth", "crp_flw_m"), so roots are matched. English first, then
# German, French, Spanish, Portuguese, Italian.
COLUMN_WORDS: tuple[tuple[str, str, str], ...] = (
    ("latitude", r"^latitude of ", ""),
    ("longitude", r"^longitude of ", ""),
    ("latitude", r"^(gps |y |wgs ?(84)? |start |pos(ition)? )?(lat(itude|itud|itudine)?|breite(ngrad)?|geo ?breite)"
                 r"( (deg|dd|wgs|gps|grad|\d+))*$", ""),
    ("longitude", r"^(gps |x |wgs ?(84)? |start |pos(ition)? )?(lon(g|gitude|gitud|gitudine)?|lng|lae?nge(ngrad)?"
                  r"|geo ?lae?nge)( (deg|dd|wgs|gps|grad|\d+))*$", ""),
    ("north_south", r"^(n ?s|north south|ns ind\w*|lat\w* (dir\w*|hemi\w*|ref|ns|n s)|n s ind\w*)$", ""),
    ("east_west", r"^(e ?w|east west|ew ind\w*|lon\w* (dir\w*|hemi\w*|ref|ew|e w)|e w ind\w*)$", ""),
    ("easting", r"^((utm|mga|gda|grid|map|pos|coord\w*|proj\w*) )?(x|e|east(ing)?|rechtswert|ostwert|este|leste)"
                r"( (m|coord\w*|utm|mga|gda|pos|proj\w*|\d+))*$", ""),
    ("northing", r"^((utm|mga|gda|grid|map|pos|coord\w*|proj\w*) )?(y|n|north(ing)?|hochwert|nordwert|norte|nord)"
                 r"( (m|coord\w*|utm|mga|gda|pos|proj\w*|\d+))*$", ""),
    ("time", r"^time( utc)?$", ""),
    ("time", r"\b(time ?stamp|date ?time|iso ?time|(gps|utc|local) ?time|time ?(utc|local|gps)|zeitstempel)\b",
     r"engine"),
    ("time", r"\b(horodat\w*|fecha (y )?hora|data (e )?(hora|ora)|date (et )?heure|datum (und )?(uhr)?zeit"
             r"|date (and )?time)\b", ""),
    ("time", r"^(t|time|utc|zeit|uhrzeit|heure|hora|ora|orario|tijd|gps time|log time|clock|epoch|t s|time s|unix\w*"
             r"|tstamp|ts|time of day|posix|sec(onds)?|elapsed( time)?|run ?time)"
             r"( (utc|gps|local\w*|ms|us|ns|s|unix))*$", ""),
    ("date", r"^((gps|utc|log|harvest|local) )?(date|datum|fecha|data|date ?stamp|day|tag|jour|dia)"
             r"( (gps|utc|local))*$", ""),
    ("speed", r"\b(ground ?speed|vehicle ?speed|machine ?speed)", r"wind"),
    ("speed", r"\b(fahr)?geschwindigkeit\b|\bvitesse\b|\bvelocid\w*|\bvelocita\b|\bavancement\b",
     r"\bwind|\bvent|vient|rotor|trommel|batteur|geblase|cilindr"),
    ("speed", r"\b(speed|spd|velocity|vel|sog|veh ?spd|gnd ?spd)\b",
     r"wind|fan|rotor|drum|thresh|engine|shaft|cyl|elev|reel"),
    ("heading", r"\b(heading|hdg|course|cog|bearing|track|trk|trck|azimuth?|direction|kurs|fahrtrichtung|richtung|cap"
                r"|rumbo|rumo|rota|direcao|direccion)\b",
     r"wind|width|row|dist|name|err|log|no$|id$|cap a|dop"),
    ("header_down", r"header (down|up|status|state|stat|pos)|^(work|wrk) (state|status|stt|sw\w*)", r"width|height"),
    ("header_down", r"\b(work ?code|work ?state|work ?status|in work|working|implement (state|status)|lift)\b",
     r"width|hours|time|set"),
    ("header_down", r"^(header|hdr|barra|bec|cueilleur|testata|head|cutting"
                    r"|recording|logging|active|status|section on|area count|are cnt|area cnt|cut)$",
     ""),
    ("header_down", r"\b(arbeitsstellung|arbeitszustand|arbeitsstatus|schneidwerk|en travail|etat (de )?travail|trabajo"
                    r"|estado (de )?trabajo|trabajando|trabalhando|trabalho|cabezal|plataforma|barre de coupe|lavoro"
                    r"|en trabajo)\b",
     r"breite|largeur|ancho|largura|larghezza|hohe|hauteur|altura|width"),
    ("width", r"\b(cut\w*|swa?th|header|head|working|work|bar|effective|impl\w*|pass|actual|eff) "
              r"(width|wdth|wid|w)\b", ""),
    ("width", r"\b(swa?th ?width|swath|swth|width|wdth|(arbeits|schnitt)?breite|largeur|anchura|ancho|largura"
              r"|larghezza)\b", r"row|tyre|track|tramline"),
    ("flow", r"\b(grain|crop|crp|mass|product|yield)( \w+)? ?(flow|flw|rate)\b(?!.*\b(v|vol\w*)\b)", r"fuel|fl cn"),
    ("flow", r"\b(flow|flw|feed ?rate|throughput|(korn)?durchsatz|debit|caudal|flujo|fluxo|vazao|portata)\b"
             r"(?!.*\b(v|vol\w*)\b)",
     r"fuel|oil|air|hydr|volume|fl cn|lag|delay|offset"),
    ("yield", r"(yield|yld|ertrag|rendement).*\b(mass|mss)\b.*\b(d|dry)\b|\bdry (yield|yld)\b|\bdry ?yield", "vol"),
    ("yield", r"(yield|yld|ertrag|rendement).*\b(mass|mss)\b", r"vol"),
    ("yield", r"\b(yield|yld|(korn)?ertrag|rendement|rendimi?ento|produtividade|productividad|resa|rinde|opbrengst)"
              r"(?!.*\b(v|vol|vl|volume)\b)", r"offset|lag|status|flow|map|cal"),
    ("yield", r"\b(yield|yld)", r"offset|lag|status|flow|map|cal"),
    ("machine", r"^(machine|harvester|combine|vehicle|header id|unit|maschine|mahdrescher|moissonneuse( batteuse)?"
                r"|cosechadora|colheitadeira|maquina|macchina)( (id|name|no|number|serial\w*|nr|num\w*))?$", ""),
    ("machine", r"\b(machine|harvester|combine|vehicle|monitor) ?(id|name|serial\w*|sn)\b|^serial( no| number)?$", ""),
    ("set", r"^(data ?set|set|load|load id|region|task|job|log|file|orig file|load number|track (fid|seg id)|auftrag"
            r"|tache|tarea|tarefa|lote?)( id| no| name| nr)?$", ""),
    ("point", r"^(obj\w*|object|point|pt|record|rec|seq\w*|track seg point|punkt|punto|ponto)( ?(id|no|num\w*|nr))?$",
     ""),
    ("point", r"^(row|fid|gid|index|id|nr|no)( ?(id|no|num\w*))?$", ""),
    ("distance", r"\b(distance|dist|dstnc|travel dist\w*|strecke|distancia|weg)\b", r"to|between|from"),
    ("duration", r"\b(duration|durtn|interval|cycle|log(ging)? int\w*|elapsed|dt|dauer|duree|duracion|duracao)\b", ""),
)  # fmt: skip
