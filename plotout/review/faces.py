"""The words for the front and the back of a garment, in the languages that sets are written in.

From memory, as patternmakers name pieces and edges. A word counts only beside one of its own
language: "bag" is a back in Danish, and not in English.
"""

from __future__ import annotations

import re

_FACES = {
    "en": ("front|fore(arm)?", "back|hind(arm)?"),
    "de": ("vorn|vorne|vorder.*", "hinten|hinter.*|rück.*"),
    "fr": ("devant|avant", "dos|arrière"),
    "es": ("delante|delanter[oa]s?|frente", "espalda|traser[oa]s?|detrás|atrás"),
    "it": ("davanti|anterior[ei]", "dietro|schiena|posterior[ei]"),
    "pt": ("frente|dianteir[oa]s?", "costas|traseir[oa]s?|trás"),
    "nl": ("voor|voorpand|voorkant|voorzijde|voorste", "achter.*|rug|rugpand"),
    "sv": ("fram|framsida|framstycke|främre", "bak|bakre|baksida|bakstycke|rygg|ryggstycke"),
    "da": ("for|foran|forrest|forside|forstykke", "bag|bagpå|bagside|bagstykke|ryg|rygstykke"),
    "fi": ("etu.*|edessä", "taka.*|selkä"),
    "pl": ("prz[óo]d.*|przedni.*", "tył.*|tyln.*|plecy"),
    "cs": ("předn.*|předek|vpředu", "zadn.*|záda|vzadu"),
    "no": ("for|foran|fremre|forside|forstykke", "bak|bakre|bakside|bakstykke|rygg"),
    "et": ("ees|esi.*|eesmine", "taga.*|selja.*|selg"),
    "tr": ("ön.*", "arka.*"),
    "ro": ("față|fața|faţă|feței", "spate.*|dos"),
    "ca": ("davant.*", "darrere.*|esquena"),
    "hr": ("prednj.*|sprijeda", "stražnj.*|leđa|straga"),
    "el": ("μπροστ.*|εμπρός|εμπρόσθι.*", "πίσω|πλάτη|οπίσθι.*"),
    "ru": ("перед.*|спереди|полочка", "зад.*|сзади|спинк.*"),
    "uk": ("перед.*|спереду|пілочк.*", "зад.*|ззаду|спинк.*"),
    "hu": ("eleje|el[őöü]l|elülső", "háta|hátul|hátsó"),
}
_WITHIN = re.compile(r"(etu|taka|vorder|hinter)(?=\w{3})")
"""Those with which a longer word begins."""
_FORMS = {
    (language, face): re.compile(form)
    for language, forms in _FACES.items()
    for face, form in zip(("front", "back"), forms, strict=True)
}


def words_of(name: str) -> set[str]:
    """Return a name's words, in small letters, without its figures."""
    return set(re.findall(r"[^\W\d_]+", name.casefold()))


def faces_in(name: str) -> set[str]:
    """Return which faces a name's words mean, each with its language: "front (en)"."""
    words = words_of(name)
    return {
        f"{face} ({language})"
        for (language, face), form in _FORMS.items()
        if any(form.fullmatch(word) for word in words)
    }


def but_for_faces(name: str) -> set[str]:
    """Return a name's words without those that mean a face: of a front hem, "hem"."""
    words = {
        word[found.end() :] if (found := _WITHIN.match(word)) else word for word in words_of(name)
    }
    return {word for word in words if not any(form.fullmatch(word) for form in _FORMS.values())}
