"""Header: column names in seven languages to fields, with the unit or the set number that stands in them."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from analytics.intake.loads import UNIT_WORDS
from analytics.intake.numbers import tidy
from analytics.intake.plain import plain

SET_NAMES: dict[str, str] = {
    "date": "date|day|datum|fecha|dia|jour|data|giorno|dag|trainingstag|tag|session date|workout date|datetime|timestamp"
    "|training date|trainingsdatum|fecha de entrenamiento|date de seance|data allenamento|data do treino|date time"
    "|start time|start|started|started at|date and time|when|logged at|log date|startzeit|beginn|inicio|debut|inizio",
    "time": "time|time of day|uhrzeit|hora|heure|ora|tijd|tijdstip|clock|zeit|orario|horario",
    "athlete": "athlete|client|lifter|athlet|athletin|atleta|sportler|sportlerin|kunde|klient|cliente|athletic id"
    "|sportif|sportive|pratiquant|sporter|klant|athlete id|trainee|deportista",
    "exercise": "exercise|exercise name|lift|movement|ubung|uebung|ejercicio|exercice|esercizio|exercicio|oefening"
    "|ubungsname|nombre del ejercicio|mouvement|movimiento|movimento|drill|name of exercise|übung|ex",
    "set_number": "set|set number|set no|set nr|set num|satz|satznummer|satz nr|serie|serie n|serie nr|numero de serie"
    "|serie no|numero serie|n serie|set #|#|setnummer|nr|nº serie|serie numero|num serie|no",
    "sets": "sets|saetze|satze|series|number of sets|anzahl satze|no of sets|num sets|setaantal|aantal sets"
    "|numero de series|nombre de series|numero di serie|satzzahl|set count",
    "load": "load|weight|kg|kgs|lb|lbs|gewicht|last|peso|carga|charge|poids|carico|belasting|weight used|resistance|working weight"
    "|carga utilizada|gewichte|weight lifted|gew|widerstand|kilos|carico usato|load used|resistencia|resistenza",
    "added": "added weight|added load|extra weight|zusatzgewicht|zusatzlast|lastre|lest|zavorra|extra gewicht|added",
    "unit": "unit|units|einheit|unidad|unite|unita|unidade|eenheid|weight unit|load unit|uom|gewichtseinheit",
    "reps": "reps|rep|repetitions|wiederholungen|wdh|whd|wh|wiederholung|repeticiones|repeticion|repetition|rip"
    "|ripetizioni|ripetizione|repeticoes|repeticao|herhalingen|herhaling|hh|rps|reps done|repetitions done|repes",
    "rir": "rir|reps in reserve|repetitions in reserve|reserve|wiederholungen in reserve|wir|repeticiones en reserva"
    "|repetitions en reserve|ripetizioni in riserva|repeticoes em reserva|reps en reserva|herhalingen in reserve"
    "|reps left|left in tank|reps en reserve",
    "rpe": "rpe|perceived exertion|effort|exertion|anstrengung|esfuerzo|intensite percue|sforzo|esforco|inspanning"
    "|rating of perceived exertion|set rpe|belastungsempfinden|esfuerzo percibido|effort percu|sforzo percepito",
    "failure": "failure|to failure|fail|failed|versagen|muskelversagen|fallo|al fallo|echec|cedimento|falha|falen"
    "|reached failure|bis versagen|a l echec|ate a falha",
    "role": "role|type|set type|kind|art|typ|satzart|satztyp|tipo|tipo de serie|type de serie|tipo di serie|soort|settype"
    "|set kind|type of set|soort set|tag of set|tipo serie|categoria|set role",
    "side": "side|seite|lado|cote|lato|kant|zijde|left right|l r|arm|leg side|body side",
    "rest": "rest|rest time|pause|pausa|descanso|repos|recupero|riposo|rust|satzpause|rest period|break|pausenzeit"
    "|tiempo de descanso|temps de repos|rusttijd|rest before|recuperation|intervalo|recovery",
    "seconds": "seconds|duration|secs|sec|hold|time under load|dauer|sekunden|duracion|segundos|duree|secondes|durata"
    "|secondi|duracao|duur|seconden|hold time|haltezeit|tut|time under tension|set duration|tempo sotto carico",
    "superset": "superset|super set|superset group|group|pairing|supersatz|superserie|superserie grupo|grupo|groupe|gruppo"
    "|groep|circuit",
    "note": "note|notes|comment|comments|remark|remarks|notiz|notizen|bemerkung|bemerkungen|kommentar|nota|notas"
    "|comentario|comentarios|remarque|remarques|commentaire|commentaires|osservazioni|commento|commenti|observacoes"
    "|observaciones|opmerking|opmerkingen|anmerkung|anmerkungen|notitie|notities|set note|set notes",
    "session": "session|workout|training|workout name|session name|einheit name|trainingseinheit|sesion|entrenamiento"
    "|seance|allenamento|sessione|treino|sessao|entrainement|training name|routine|workout title|session title|split"
    "|day name|trainingsname|sessie|programm|workout id|session id|plan",
    "session_rpe": "session rpe|srpe|s rpe|overall rpe|workout rpe|rpe session|rpe sesion|rpe seance|rpe sessione"
    "|rpe sessao|einheit rpe|sessie rpe",
    "work": "work|performance|sets x reps|sets and reps|sets reps|set x rep|scheme|done|result|results|performed"
    "|sets x reps load|ergebnis|leistung|ausfuhrung|trabajo|hecho|resultado|resultat|travail|realise|lavoro|risultato"
    "|svolto|trabalho|feito|resultaat|gedaan|series x repeticiones|series et repetitions|satze x wdh|serie x rip"
    "|serie x ripetizioni|series x reps|sets x herhalingen|satze und wiederholungen|log|sets reps weight|what|sets done",
}
MEASURE_NAMES: dict[str, str] = {
    "bodyweight": "bodyweight|body weight|body mass|weight|korpergewicht|koerpergewicht|gewicht|peso corporal|peso"
    "|poids de corps|poids du corps|poids|peso corporeo|lichaamsgewicht|scale weight|bw|massa corporal|kg|lb|lbs"
    "|morning weight|masse corporelle",
    "waist": "waist|taille|cintura|tour de taille|vita|girovita|buik|navel|waist girth|bauch|bauchumfang|taillenumfang"
    "|abdomen|cintura abdominal|tailleomtrek|circonferenza vita",
    "hips": "hips|hip|huefte|hufte|hueften|huften|cadera|caderas|hanches|fianchi|quadril|heupen|heup|huftumfang|glutes",
    "chest": "chest|brust|pecho|poitrine|petto|torace|peito|borst|brustumfang|bust|torax",
    "shoulders": "shoulders|shoulder|schultern|hombros|epaules|spalle|ombros|schouders|schulterumfang|schulter",
    "neck": "neck|hals|nacken|cuello|cou|collo|pescoco|nek|halsumfang",
    "upper_arm": "upper arm|arm|arms|biceps|bizeps|oberarm|brazo|biceps girth|bras|braccio|braco|bovenarm|bicipite"
    "|oberarmumfang|upper arms|bicep",
    "forearm": "forearm|unterarm|antebrazo|avant bras|avambraccio|antebraco|onderarm|forearms|unterarmumfang",
    "thigh": "thigh|oberschenkel|muslo|cuisse|coscia|coxa|bovenbeen|dij|thighs|quad|oberschenkelumfang|upper leg|dijbeen",
    "calf": "calf|wade|pantorrilla|mollet|polpaccio|panturrilha|kuit|calves|wadenumfang|gemelo|lower leg",
    "session_minutes": "session minutes|minutes|session duration|training minutes|minuten|minutos|minuti|trainingsdauer"
    "|duration|dauer|duree|duracion|durata|duracao|duur|session length|training time",
    "session_rpe": SET_NAMES["session_rpe"] + "|rpe",
    "date": SET_NAMES["date"],
    "athlete": SET_NAMES["athlete"] + "|name",
    "unit": SET_NAMES["unit"],
    "side": SET_NAMES["side"],
    "measure": "measure|measurement|site|girth|umfang|stelle|messung|medida|mesure|misura|maat|meting|sitio|what",
    "value": "value|wert|valor|valeur|valore|waarde|reading|result",
    "note": SET_NAMES["note"],
}
FIELDS = (*SET_NAMES, *(name for name in MEASURE_NAMES if name not in SET_NAMES))
"""Every field name that `roster.toml` may list under ``[columns]``."""

_LENGTHS = {
    "cm": "cm",
    "mm": "mm",
    "in": "in",
    "inch": "in",
    "inches": "in",
    '"': "in",
    "zoll": "in",
    "m": "m",
    "pulgadas": "in",
    "pouces": "in",
    "pollici": "in",
    "polegadas": "in",
    "centimeter": "cm",
    "centimetres": "cm",
}
_TIMES = {
    "s": "s",
    "sec": "s",
    "secs": "s",
    "seconds": "s",
    "sek": "s",
    "seg": "s",
    "sekunden": "s",
    "segundos": "s",
    "min": "min",
    "mins": "min",
    "minutes": "min",
    "minuten": "min",
    "minutos": "min",
    "minuti": "min",
}
_UNITS = {**UNIT_WORDS, **_LENGTHS, **_TIMES, "mm:ss": "s", "m:ss": "s", "hh:mm": "s"}
_BRACKET = re.compile(r"[(\[{]\s*([^)\]}]*?)\s*[)\]}]")
_SIDE_WORDS = {
    **dict.fromkeys(
        (
            "left",
            "li",
            "lh",
            "links",
            "linke",
            "linker",
            "linkes",
            "izquierda",
            "izquierdo",
            "izq",
            "gauche",
            "sinistra",
            "sinistro",
            "sx",
            "esquerda",
            "esquerdo",
            "l",
        ),
        "left",
    ),
    **dict.fromkeys(
        (
            "right",
            "re",
            "rh",
            "rechts",
            "rechte",
            "rechter",
            "rechtes",
            "derecha",
            "derecho",
            "der",
            "droite",
            "droit",
            "destra",
            "destro",
            "dx",
            "direita",
            "direito",
            "r",
        ),
        "right",
    ),
}
_SET_WORDS = "set|satz|serie|series|s"


@dataclass(frozen=True, slots=True)
class Heading:
    """One column: its position, its field, the unit, side and set number that its name carries."""

    column: int
    text: str
    field: str
    unit: str | None = None
    side: str | None = None
    set_number: int | None = None


def dictionary(names: Mapping[str, str], extra: Mapping[str, Sequence[str]]) -> dict[str, str]:
    """Normalised column name to field; the coach's own names (`extra`) win over the built-in ones."""
    built_in: dict[str, str] = {}
    for field, spelled in names.items():
        for name in spelled.split("|"):
            built_in.setdefault(normal(name), field)
        built_in.setdefault(normal(field), field)
    own = {normal(name): field for field, spelled in extra.items() if field in names for name in spelled}
    return built_in | own


def normal(text: str) -> str:
    """A column name without case, accents, units in brackets and punctuation."""
    words = plain(tidy(text).replace("ß", "ss"))
    words = re.sub(r"[_\-/:;,*?!\"&+|]+", " ", words)
    words = words.replace("×", "x")
    return " ".join(words.split())


def read_headings(cells: Sequence[str | None], known: Mapping[str, str]) -> list[Heading]:
    """The columns of one row that are known, in order; a field is taken once unless sides or sets differ."""
    found: list[Heading] = []
    taken: set[tuple[str, str | None, int | None]] = set()
    for column, cell in enumerate(cells):
        heading = _heading(column, cell, known)
        if heading is None or (heading.field, heading.side, heading.set_number) in taken:
            continue
        taken.add((heading.field, heading.side, heading.set_number))
        found.append(heading)
    return found


def _heading(column: int, cell: str | None, known: Mapping[str, str]) -> Heading | None:
    text = tidy(cell)
    if not text or len(text) > 80:
        return None
    unit: str | None = None
    for inside in _BRACKET.findall(text):
        word = inside.strip(" .")
        unit = unit or _UNITS.get(word) or _UNITS.get(plain(word))
    whole = normal(text)
    bare = normal(_BRACKET.sub(" ", text))
    for name in (whole, bare):
        if name in known:
            return Heading(column, str(cell), known[name], unit or _named_unit(name))
    name, trailing = _without_unit(bare)
    unit = unit or trailing
    if name in known:
        return Heading(column, str(cell), known[name], unit)
    if numbered := _numbered(column, str(cell), name, unit, known):
        return numbered
    words = name.split()
    sides = [_SIDE_WORDS[word] for word in words if word in _SIDE_WORDS]
    rest = " ".join(word for word in words if word not in _SIDE_WORDS)
    inside_side = [_SIDE_WORDS[w] for b in _BRACKET.findall(text) if (w := plain(b)) in _SIDE_WORDS]
    if len(sides + inside_side) == 1 and rest in known:
        return Heading(column, str(cell), known[rest], unit, (sides + inside_side)[0])
    return None


def _named_unit(name: str) -> str | None:
    """A column that is named after its unit, such as ``kg``, ``seconds`` or ``kilos``."""
    return _UNITS.get(name) if name not in ("m", "s", "in") else None


def _without_unit(name: str) -> tuple[str, str | None]:
    words = name.split()
    if len(words) > 1 and words[-1] in _UNITS:
        if words[-2:-1] in (["in"], ["en"], ["em"]):
            return " ".join(words[:-2]), _UNITS[words[-1]]
        return " ".join(words[:-1]), _UNITS[words[-1]]
    return (name, None)


def _numbered(
    column: int, cell: str, name: str, unit: str | None, known: Mapping[str, str]
) -> Heading | None:
    """``Set 1 kg``, ``S1 reps``, ``W1``, ``kg1``, ``Reps 1``, ``1. Satz Gewicht``: a field of the n-th set."""
    patterns = (
        rf"(?:{_SET_WORDS})\s?(\d{{1,2}})\s?(.*)",
        rf"(\d{{1,2}})\s?(?:{_SET_WORDS})\s(.*)",
        r"(\D+?)\s?(\d{1,2})()",
        rf"(.+?)\s(?:{_SET_WORDS})\s?(\d{{1,2}})()",
    )
    for i, pattern in enumerate(patterns):
        found = re.fullmatch(pattern, name)
        if not found:
            continue
        number, what = (int(found[1]), found[2]) if i < 2 else (int(found[2]), found[1])
        what = what.strip()
        field = (
            {"kg": "load", "lb": "load", "s": "seconds"}.get(unit or "")
            if not what
            else _set_field(what, known)
        )
        field = field or _set_field(what, known)
        if field is None:
            continue
        if unit is None and what in UNIT_WORDS:
            unit = UNIT_WORDS[what]
        if 1 <= number <= 40:
            return Heading(column, cell, field, unit, set_number=number)
    return None


def _set_field(what: str, known: Mapping[str, str]) -> str | None:
    if what in UNIT_WORDS or what in ("w", "wt", "g", "p", "c"):
        return "load"
    if what in ("r", "rp", "wh", "h"):
        return "reps"
    if what == "":
        return "work"
    field = known.get(what)
    return (
        field
        if field in ("load", "added", "reps", "rir", "rpe", "role", "rest", "seconds", "failure", "note")
        else None
    )
