"""Edges sewn where another of their piece belongs, by names that share a word with a piece's.

That a sleeve's front is sewn to the front of a body is common practice; the words of each language
are from memory.
"""

import pytest

from plotout.review.crossed_names import crossed_names
from plotout.review.whole_set import review

from .test_ends_exchanged import BAG, EVERY, FOLDED, MORE, OVERLAP, SKIRT, VEST, WAIST, WAISTCOAT
from .test_joined_ways import a_set, wrong

NAMES = {  # front, back, and what is added to a sleeve's edge there
    "en": ("Front", "Back", "front", "back"),
    "en, by letters": ("Front", "Back", "FR", "BK"),
    "de": ("Vorderteil", "Rückenteil", "VT", "RT"),
    "de, one tells": ("Vorderteil", "Rücken", "VT", "RT"),
    "da": ("Forstykke", "Bagstykke", "forreste", "bageste"),
    "no": ("Forstykke", "Bakstykke", "foran", "bak"),
    "cs": ("Předek", "Zadek", "předek", "zadek"),
    "hr": ("Prednji_dio", "Stražnji_dio", "prednja", "stražnja"),
    "ro": ("Față", "Spate", "față", "spate"),
    "ro, no accents": ("Față", "Spate", "fata", "spate"),
    "et": ("Esiosa", "Seljaosa", "ees", "taga"),
    "ca": ("Davant", "Esquena", "davant", "esquena"),
    "tr": ("Ön", "Arka", "ön", "arka"),
    "el": ("Μπροστινό", "Πίσω", "μπροστά", "πίσω"),
    "ru": ("Перед", "Спинка", "передний", "спинки"),
    "uk": ("Пілочка", "Спинка", "пілочки", "спинки"),
    "he": ("קדמי", "אחורי", "קדמית", "אחורית"),
    "ja": ("前身頃", "後ろ身頃", "前", "後"),
    "ja, kana": ("フロント", "バック", "フロント", "バック"),
    "zh": ("前片", "后片", "前", "后"),
    "ko": ("앞판", "뒤판", "앞", "뒤"),
    "th": ("ชิ้นหน้า", "ชิ้นหลัง", "หน้า", "หลัง"),
    "ja, in Latin letters": ("Maemigoro", "Ushiromigoro", "mae", "ushiro"),
    "no language": ("Qop", "Zub", "qop", "zub"),
}
BODY = """F pair: h s arm shoulder n c; B fold d: h s arm shoulder n d;
    Sleeve pair: hem f_under f_cap b_cap b_under |
    side: F s = B s; shoulder: F shoulder = B shoulder; under: Sleeve f_under = Sleeve -b_under; """
ONE = BODY + "armhole: Sleeve f_cap, Sleeve b_cap = F arm, B -arm"
TWO = BODY + "in front: Sleeve f_cap = F arm; in back: Sleeve -b_cap = B arm"
RAGLAN = """F pair: h s raglan n c; B fold d: h s raglan n d;
    Sleeve pair: hem f_under f_raglan neck b_raglan b_under | side: F s = B s;
    under: Sleeve f_under = Sleeve -b_under; one: Sleeve f_raglan = F raglan;
    other: Sleeve -b_raglan = B raglan"""
PIECES = """Front pair: hem side low arm shoulder cf;
    Back fold cb: hem side low high shoulder neck cb;
    Top pair: wrist front cap back"""
SEAMS = """side: Front side = Back side; shoulder: Front shoulder = Back shoulder;
    fore: Top front = Under front; hind: Top back = Under back;
    armhole: Top cap, Under -cap = Front arm, Back -high, Back -low, Front low"""
TWO_PIECE = f"{PIECES}; Under pair: wrist front cap back | {SEAMS}"
NARROW = f"{PIECES}; Under pair: wrist front cap back {' '.join('ijklmqrtuvwxyz')} | {SEAMS}"
"""An under sleeve of a polygon of 18 sides, each a quarter as long as one of a square."""


def asked_of(text):
    made = a_set(text)
    return dict(crossed_names(made.seams, made))


def named(text, language):
    front, back, fore, hind = NAMES[language]
    for old, new in (
        ("f_", f"{fore}_"),
        ("b_", f"{hind}_"),
        ("F ", f"{front} "),
        ("B ", f"{back} "),
    ):
        text = text.replace(old, new)
    return text


@pytest.mark.parametrize("language", NAMES)
def test_a_sleeve_set_in_back_to_front_is_asked_about_whatever_front_and_back_are_called(language):
    assert asked_of(named(ONE, language)) == {}
    turned = wrong("F arm, B -arm", "B arm, F -arm", ONE)
    assert list(asked_of(named(turned, language))) == ["armhole"]


@pytest.mark.parametrize("language", NAMES)
@pytest.mark.parametrize("edges", ["cap", "under"])
def test_so_it_is_if_only_its_cap_or_only_its_underarm_is_called_so(language, edges):
    text = ONE
    for side in "fb":
        text = text.replace(f"{side}_{edges}", f"{edges}_{'fb'.index(side)}")
    assert asked_of(named(text, language)) == {}
    turned = named(wrong("F arm, B -arm", "B arm, F -arm", text), language)
    assert list(asked_of(turned)) == ["armhole"]


@pytest.mark.parametrize("language", NAMES)
def test_so_it_is_in_two_seams_and_both_are_named(language):
    for text, old, new, seams in (
        (TWO, "f_cap = F arm; in back: Sleeve -b_cap = B",
         "f_cap = B arm; in back: Sleeve -b_cap = F", ["in front", "in back"]),
        (RAGLAN, "f_raglan = F raglan; other: Sleeve -b_raglan = B",
         "f_raglan = B raglan; other: Sleeve -b_raglan = F", ["one", "other"]),
    ):  # fmt: skip
        right = " ".join(text.split())
        assert asked_of(named(right, language)) == {}
        assert sorted(asked_of(named(wrong(old, new, right), language))) == sorted(seams)


@pytest.mark.parametrize(
    ("base", "old", "new", "says"),
    [
        (TWO_PIECE, "Top cap, Under -cap", "Top -cap, Under cap",
         "'back' of 'Top' ends on 'Front', and 'front' ends on 'Back'"),
        (NARROW, "Top cap, Under -cap", "Under -cap, Top cap",
         "'back' of 'Top' ends on 'Front' like 'front', but is called after 'Back'"),
    ],
)  # fmt: skip
def test_a_sleeve_in_two_is_asked_about_by_the_seams_that_join_it(base, old, new, says):
    """Its seams called front and back end on the front and on the back of a body."""
    assert asked_of(base) == {}
    (words,) = asked_of(wrong(old, new, base)).values()
    assert says in words


SOUND = (
    # an underarm seam that lies forward of the side seam: both its edges end on the front
    """Front pair: hem side low arm shoulder cf; Back fold cb: hem side armhole shoulder neck cb;
    Top pair: wrist under_front cap under_back |
    side: Front side = Back side; under: Top under_front = Top -under_back;
    armhole: Top cap = Front arm, Back -armhole, Front low""",
    # a yoke that comes over the shoulders, and a collar with an edge to each
    """Front pair: hem side armhole yoke neck cf; Back fold cb: hem side armhole yoke cb;
    Yoke fold cb: back armhole front neck cb; Collar fold cb: neck_front neck_back end top cb |
    front: Yoke front = Front yoke; back: Yoke back = Back yoke; side: Front side = Back side;
    neck: Collar -neck_back, Collar -neck_front = Yoke -neck, Front neck""",
    # tiers, each sewn by its top to the bottom of the one before
    """Top_tier: top right bottom left; Middle_tier: top right bottom left;
    Bottom_tier: top right bottom left | one: Top_tier bottom = Middle_tier -top;
    two: Middle_tier bottom = Bottom_tier -top; side: Middle_tier right = Middle_tier -left""",
    # left and right as drawn, of pieces called by the wearer's
    """Vasen: helma sivu kaula etu; Oikea: helma etu kaula sivu; Taka: helma oikea kaula vasen |
    a: Taka oikea = Vasen -sivu; b: Taka vasen = Oikea -sivu""",
    # a panel between front and back, and between the pieces beside it
    """Centre_front fold cf: hem line neck cf; Side_front pair: hem side armhole centre;
    Side_back pair: hem centre armhole side; Centre_back fold cb: hem cb neck line |
    front: Side_front centre = Centre_front -line; back: Side_back centre = Centre_back -line;
    side: Side_front side = Side_back -side""",
    # letters that count edges
    """Apron: a b c d; Bib: a b c d; Strip: a b c d |
    one: Strip a = Bib a; two: Strip b = Apron c""",
    # a flap called front by its own place, sewn to what is called otherwise
    """Front pair: hem side top cf; Yoke pair: foot side top cf; Band: front top back foot |
    yoke: Yoke foot = Front -top; a: Band front = Yoke top; b: Band foot = Front hem""",
    TWO, ONE, RAGLAN,
)  # fmt: skip


@pytest.mark.parametrize(
    "text",
    [*EVERY.values(), *MORE, VEST, SKIRT, WAIST, FOLDED, WAISTCOAT, OVERLAP, BAG, *SOUND],
)
def test_right_sets_are_not_asked_about(text):
    assert asked_of(named(text, "en") if "F " in text else text) == {}


def test_the_review_asks_each_seam_once():
    turned = named(wrong("F arm, B -arm", "B arm, F -arm", ONE), "en")
    told = [note for note in review(a_set(turned)).notes if note.startswith("seam 'armhole': ")]
    assert len([note for note in told if "or is it right" in note]) == 1
    turned = named(wrong("F arm, B -arm", "B arm, F -arm", ONE), "ja")
    (told,) = [note for note in review(a_set(turned)).notes if "by name each is" in note]
    assert told.startswith("seam 'armhole': '前_cap' of 'Sleeve' is sewn to '後ろ身頃'")


TWO_PARTS = """Front pair: h side arm shoulder n c; Back fold d: h side arm shoulder n d;
    {upper} pair: wrist f_seam {cap}_front {cap}_back b_seam;
    {under} pair: wrist f_seam low_front low_back b_seam |
    side: Front side = Back side; shoulder: Front shoulder = Back shoulder;
    fore: {upper} f_seam = {under} f_seam; hind: {upper} b_seam = {under} b_seam;
    one: {upper} {cap}_front = Front arm; other: {upper} -{cap}_back = Back arm"""


@pytest.mark.parametrize(
    ("upper", "under", "cap"),
    [
        ("Top_sleeve", "Under_sleeve", "sleeve_cap"),
        ("Manga_superior", "Manga_inferior", "copa_de_manga"),
        ("上袖", "下袖", "袖山"),
        ("Üst_kol", "Alt_kol", "kol_üstü"),
        ("Alt_kol", "Üst_kol", "kol_üstü"),  # the top of the arm, not the upper sleeve
    ],
)
def test_a_word_of_its_own_pieces_name_tells_nothing(upper, under, cap):
    text = TWO_PARTS.replace("f_seam", "front_seam").replace("b_seam", "back_seam")
    assert asked_of(text.format(upper=upper, under=under, cap=cap)) == {}


def test_a_cap_that_goes_over_two_pieces_belongs_to_both():
    """A princess seam: each is less than most of the front half of the armhole."""
    text = """Front pair: h line arm shoulder n c; Side_front pair: h side arm line;
        Back fold d: h side arm shoulder n d;
        Sleeve pair: wrist under_front cap_front cap_back under_back |
        line: Front line = Side_front -line; side: Side_front side = Back side;
        shoulder: Front shoulder = Back shoulder;
        one: Sleeve cap_front = Side_front arm, Front arm; other: Sleeve -cap_back = Back arm"""
    assert asked_of(text) == {}
