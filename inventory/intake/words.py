"""Words of cities' files for the state of a tree and for its growing space, in six languages."""

import re

from inventory.intake.headings import heading_words

# Cells that say that nothing is known.
NOTHING = frozenset({"", "-", "--", "---", "null", "none", "n/a", "na", "nan", "unknown", "nil", "?", "<null>",
                     "onbekend", "unbekannt", "inconnu", "desconocido", "sconosciuto", "non renseigne",
                     "non renseigné"})  # fmt: skip

STATES = ("alive", "dead", "stump", "vacant", "removed")
_STATE_WORDS = {
    "alive": "alive living live good fair poor excellent planted vivant lebend levend vivo viva",
    "dead": "dead mort morte tot dood muerto muerta morto morta seco abgestorben afgestorven",
    "stump": "stump souche stumpf stubben stronk stobbe tocon ceppaia",
    "vacant": "vacant empty leer leeg vide vacia vacio vuoto",
    "removed": "removed felled abattu gefallt gekapt talado abbattuto geveld gerooid apeado eliminado rimosso"
    " entfernt supprime",
}
_STATE_OF = {word: state for state, words in _STATE_WORDS.items() for word in words.split()}

_SPACE_WORDS = {
    "cutout": "cutout cut pit well grate fosse baumscheibe alcorque boomspiegel",
    "strip": "strip median verge parkway alignement grunstreifen berm bermen",
    "lawn": "lawn yard grass pelouse rasen gazon cesped",
    "planter": "planter pot container bac kubel bloembak maceta",
    "park": "park garden cemetery jardin cimetiere friedhof begraafplaats jardín parque",
    "natural": "natural woodland wood forest bois wald bos",
}
_SPACE_OF = {word: space for space, words in _SPACE_WORDS.items() for word in words.split()}
# One heading gathers cities' words for the place of a tree; the last word is the most particular one.
_WORD = re.compile(r"[a-z]+")


def state_of(cell: str) -> str:
    """The state that a cell names, or empty: "Standing dead" is dead, "Good" is alive."""
    found = [_STATE_OF[word] for word in _WORD.findall(heading_words(cell)) if word in _STATE_OF]
    return max(found, key=STATES.index) if found else ""


def space_of(cell: str) -> str:
    """The growing space that a cell names, or "unknown": in "Median : Cutout" the last one counts."""
    found = [_SPACE_OF[word] for word in _WORD.findall(heading_words(cell)) if word in _SPACE_OF]
    return found[-1] if found else "unknown"


_WHERE = frozenset({
    "curb", "kerb", "sidewalk", "footpath", "pavement", "roadside", "roadway", "front", "rear", "side", "back",
    "corner", "behind", "median", "verge", "yard", "street", "park", "trottoir", "chaussee", "gehweg",
    "strassenrand", "stoep", "rijbaan", "acera", "bordillo", "marciapiede", "banchina", "alignement",
}) | set(_SPACE_OF)  # fmt: skip


def tells_where(cell: str) -> bool:
    """Whether a text says where by the street or plot a tree stands, whatever growing space that is.

    >>> tells_where("OffsetFromCurb"), tells_where("12 Side Street"), tells_where("Good")
    (True, False, False)
    """
    return not any(map(str.isdigit, cell)) and not _WHERE.isdisjoint(_WORD.findall(heading_words(cell)))


# The grades of condition that cities write, to ours.
_GRADES = {
    "good": "good excellent very healthy vigorous gut sehr bon bonne buono buona bueno buena goed vital vitaal sain"
    " sano sana gesund gezond ottimo ottima excelente optimo optima uitstekend vitale saine tresbon ungeschadigt normal"
    " normaal normale bien vigoureux",
    "fair": "fair average moderate satisfactory mittel befriedigend moyen moyenne passable regular medio media discreto"
    " discreta redelijk matig voldoende ausreichend geschwacht leicht acceptable sufficiente satisfaisant mediocre"
    " aceptable sufficient ok",
    "poor": "poor bad declining decline schlecht mauvais mauvaise malo mala cattivo cattiva slecht stressed unhealthy"
    " kummerlich deperissant deperissement scadente scarso scarsa deficiente geschadigt beschadigd onvoldoende"
    " kwijnend deperiente diseased krank malade enfermo faible debil verminderd affaibli",
    "critical": "critical dying hazardous absterbend mourant kritiek grave kritisch critique critico critica moribundo"
    " moribund stervend dangereux pericoloso peligroso dangerous",
    "dead": "dead tot mort morte dood muerto muerta morto morta abgestorben seco seca sec secco afgestorven",
    "stump": "stump stumpf stubben souche stobbe tocon ceppaia",
}
GRADES = tuple(_GRADES)
_GRADE_OF = {word: grade for grade, words in _GRADES.items() for word in words.split()}
# The work on trees that cities write, to our verbs: by how its words begin, as compounds and endings are many.
_WORKS = {
    "prune": "trim prun elagag elagu taill schnitt schneid kronenpfleg kronenschn snoei poda podar potatur potare rais"
    " thin clean formativ rejuvenat lift crown reduc eclairci remont opkron uitdun inkort einkurz auslicht lichtraum"
    " totholz deadwood jungbaumpfl erziehungs pfleg recep clareo aclar refald terciad rimond spalcat diradam begeleid"
    " kroon kandelab knot leivorm shap stak limb",
    "remove": "remov fell abattag abattre fallen fallung kappen vellen tala talar talado abbattim rooi apeo derrib"
    " suppress entfern verwijder eliminaz",
    "plant": "plant replant nachpflanz reimpiant replantat sostituz reposic herplant ersatzpflanz",
    "inspect": "inspect monitor assess control kontroll inspectie inspecc ispez survey surveill vigilan monitorag"
    " beobacht untersuch expert diagnos nader",
    "grind the stump": "grind essouch fras frez destocon stumpfras",
    "support": "cabl brac support haubanag kronensich verank anclaj consolidam",
}
WORKS = tuple(_WORKS)
_WORK_STEMS = sorted(
    ((stem, work) for work, stems in _WORKS.items() for stem in stems.split()), key=lambda p: -len(p[0])
)


def grade_of(cell: str) -> str:
    """Our grade of condition that a cell names, the worst of several, or empty: "Very Good" is good."""
    found = [_GRADE_OF[word] for word in _WORD.findall(heading_words(cell)) if word in _GRADE_OF]
    return max(found, key=GRADES.index) if found else ""


def work_of(cell: str) -> str:
    """Our verb for the work that a cell names first, or empty: "Grid/Routine Trim" is prune."""
    return next((work for word in _WORD.findall(heading_words(cell)) if (work := _work(word))), "")


def _work(word: str) -> str:
    """The work that a word begins with, or ends with as German and Dutch compounds do."""
    began = next((work for stem, work in _WORK_STEMS if word.startswith(stem)), "")
    ended = (work for stem, work in _WORK_STEMS if len(stem) >= 5 and stem in word)
    return began or next(ended, "")


# The stages of life that cities write, to ours.
_STAGES = {
    "young": "young juvenile newly planted sapling jung jugend jeune joven giovane jong jeugd jeugdfase reifung"
    " jungbaum plantation nouveau nuevo nuovo aanleg",
    "semi-mature": "semi semimature adolescent halbwuchsig maturing intermediate",
    "mature": "mature adult adulte adulto adulta maturo matura volwassen erwachsen reif reife ausgewachsen",
    "over-mature": "over overmature vieux viejo vieja vecchio senescent senile senescente alt alterung oud overjarig"
    " aftakeling",
    "veteran": "veteran ancient veteraan monumentale centenaire",
}
STAGES = tuple(_STAGES)
_STAGE_OF = {word: stage for stage, words in _STAGES.items() for word in words.split()}


def stage_of(cell: str) -> str:
    """Our stage of life that a cell names, the oldest of several, or empty.

    >>> stage_of("Jeune (arbre)"), stage_of("Over-mature"), stage_of("Semi Mature")
    ('young', 'over-mature', 'semi-mature')
    """
    words = _WORD.findall(heading_words(cell))
    found = [_STAGE_OF[word] for word in words if word in _STAGE_OF]
    if "semi" in words and set(found) <= {"semi-mature", "mature"}:
        return "semi-mature"
    return max(found, key=STAGES.index) if found else ""


_STREETS = frozenset({
    "street", "st", "avenue", "ave", "av", "road", "rd", "lane", "ln", "boulevard", "blvd", "bl", "drive", "dr",
    "court", "ct", "place", "pl", "square", "terrace", "way", "parkway", "pkwy", "highway", "hwy", "crescent",
    "close", "rue", "bd", "quai", "chemin", "allee", "impasse", "cours", "route", "calle", "c", "avenida", "avda",
    "plaza", "paseo", "camino", "ronda", "carretera", "via", "viale", "corso", "piazza", "largo", "vicolo", "strada",
    "piazzale", "lungomare", "weg", "strasse", "str", "platz", "gasse", "straat", "laan", "plein", "gracht", "kade",
    "markt", "passage", "sentier", "mail", "esplanade",
})  # fmt: skip
_STREET_ENDS = ("strasse", "str", "weg", "gasse", "platz", "allee", "ufer", "damm", "ring", "straat", "laan", "plein",
                "gracht", "kade", "dreef", "singel", "steeg", "markt", "pad", "graben")  # fmt: skip


def is_street(cell: str) -> bool:
    """Whether a text is the name of a street, by its words in six languages.

    >>> is_street("Lindenstraße"), is_street("W KING EDWARD AV"), is_street("Tilia cordata")
    (True, True, False)
    """
    found = _WORD.findall(heading_words(cell))
    return len(found) <= 8 and any(
        word in _STREETS or (len(word) > 6 and word.endswith(_STREET_ENDS)) for word in found
    )
