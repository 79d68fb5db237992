"""Recorded effects of the dust of species, and remarks on food contact, each with its source.

Facts only; `inventory.core.species` finds them. A remark holds for every species whose botanical name begins with one
of its prefixes. The lists record cases, not how often they occur; a species that is missing is not therefore harmless.
"""

from __future__ import annotations

from dataclasses import dataclass

ACGIH = "ACGIH TLV for wood dusts, as carried by OSHA Chemical Sampling Information"
HAZ_MAP = "Haz-Map, U.S. National Library of Medicine"
OSHA_1989 = "NIOSH archive of the OSHA 1989 PEL project, 54 FR 2332"
WOODTURNER_CHART = (
    'American Woodturner, June 1990, "Woods Toxic to Man" chart (after Woods & Calnan 1976; ILO 1983; AMA 1985)'
)
HANSARD = "House of Commons (United Kingdom), written answer of 2 August 1978, list of timbers"
WOOD_DATABASE = "The Wood Database, per-species page"
CHUDNOFF = "Chudnoff, Tropical Timbers of the World, USDA Agriculture Handbook 607 (1984) fact sheet"
WOLFE = "Wolfe, Wood Toxicity: Symptoms, Species, and Solutions, Ohio State University, Table 1"
QUEENSLAND = "Woodturners Society of Queensland list of timbers and health"
DEALER = "Lumber dealer species sheet"
HSE_WIS30 = "HSE Woodworking Sheet WIS30, Toxic woods, Table 2"
FOOD_CODE = (
    "FDA Food Code 4-101.17 (United States) as adopted by Washington 246-215-04130, Minnesota 4626.0490, "
    "California HSC 114132, District of Columbia 25-A1406"
)
CALIFORNIA = "California Health and Safety Code 114132"
DAVIS_MORBECK = "Davis & Morbeck, tests of woods for butter containers, USDA Miscellaneous Publication 250 (1936)"
DAIRY_1934 = "Dairy Research Institute, Palmerston North, bulletin as reported in a New Zealand newspaper, 7 April 1934"
AAAAI = "American Academy of Allergy, Asthma & Immunology, Ask the Expert: walnut cutting board"
TOXICOLOGY = "common knowledge; the chart of American Woodturner, June 1990, names it a direct toxin"

SHORT_SOURCES = {
    ACGIH: "ACGIH",
    HAZ_MAP: "Haz-Map",
    OSHA_1989: "OSHA 1989",
    WOODTURNER_CHART: "American Woodturner, June 1990",
    HANSARD: "House of Commons, 2 August 1978",
    WOOD_DATABASE: "The Wood Database",
    CHUDNOFF: "Chudnoff 1984",
    WOLFE: "Wolfe, Ohio State University",
    QUEENSLAND: "Woodturners Society of Queensland",
    DEALER: "a dealer's species sheet",
    HSE_WIS30: "HSE WIS30",
    FOOD_CODE: "FDA Food Code 4-101.17",
    CALIFORNIA: "California HSC 114132",
    DAVIS_MORBECK: "USDA Misc. Publication 250, 1936",
    DAIRY_1934: "Dairy Research Institute, Palmerston North, 1934",
    AAAAI: "AAAAI",
    TOXICOLOGY: "common knowledge",
}
"""Every source by the name that a sentence has room for."""


@dataclass(frozen=True)
class Remark:
    """A recorded effect or use, and who recorded it; `seen` is False where the source is quoted from memory."""

    text: str
    source: str
    seen: bool = True


@dataclass(frozen=True)
class SpeciesRemark:
    """A remark, and the beginnings of the botanical names for which it holds."""

    prefixes: tuple[str, ...]
    remark: Remark


def _of(prefixes: tuple[str, ...], text: str, source: str, *, seen: bool = True) -> SpeciesRemark:
    return SpeciesRemark(prefixes, Remark(text, source, seen))


ANY_DUST = (
    Remark("recommended limit for the dust of any wood but western redcedar: 1 mg/m3 (inhalable, 8 h)", ACGIH),
    Remark("hardwood dust is a known human carcinogen (IARC): cancer of the nasal cavity", HAZ_MAP),
)
"""What holds for every wood."""

ANY_CONTACT = (
    Remark("in trade kitchens only hard maple or an equally hard, close-grained wood; no list of species", FOOD_CODE),
)
"""What holds for every wood that touches food. The code binds food businesses, not homes."""

DUST = (
    _of(
        ("Thuja plicata",),
        "sensitiser; recommended limit 0.5 mg/m3 (inhalable, 8 h); not classifiable as a human carcinogen (A4)",
        ACGIH,
    ),
    _of(("Thuja plicata",), "occupational asthma; skin sensitiser", HAZ_MAP),
    _of(
        ("Thuja plicata",),
        "highly allergenic; a 1989 rule, not in force, allowed half as much of it as of other dust",
        OSHA_1989,
    ),
    _of(("Quercus", "Fagus"), "confirmed human carcinogen (A1)", ACGIH),
    _of(
        ("Betula", "Swietenia", "Khaya", "Tectona grandis", "Juglans"),
        "suspected human carcinogen (A2)",
        ACGIH,
    ),
    _of(("Quercus", "Swietenia", "Fraxinus", "Diospyros"), "can cause asthma", HAZ_MAP),
    _of(("Pinus strobus",), "rarely cause allergic contact dermatitis in carpenters", HAZ_MAP),
    _of(("Fagus",), "sensitiser; nasal cancer; eyes, skin, breathing, potency 2 of 4, common", WOODTURNER_CHART),
    _of(("Betula",), "sensitiser; breathing, potency 2 of 4, common", WOODTURNER_CHART),
    _of(("Taxodium distichum", "Picea"), "sensitiser; breathing, potency 1 of 4, rare", WOODTURNER_CHART),
    _of(
        ("Robinia pseudoacacia",),
        "irritant, nausea; eyes, skin, potency 3 of 4 (leaves and bark), common",
        WOODTURNER_CHART,
    ),
    _of(("Buxus", "Juglans nigra"), "sensitiser; eyes, skin, potency 2 of 4, common", WOODTURNER_CHART),
    _of(
        ("Dalbergia retusa", "Triplochiton scleroxylon", "Olea"),
        "irritant and sensitiser; eyes, skin, breathing, potency 3 of 4, common",
        WOODTURNER_CHART,
    ),
    _of(("Diospyros",), "irritant and sensitiser; eyes, skin, potency 2 of 4, common", WOODTURNER_CHART),
    _of(("Ulmus",), "irritant; eyes, skin, potency 1 of 4, rare", WOODTURNER_CHART),
    _of(("Astronium",), "sensitiser; eyes, skin, potency 2 of 4, rare", WOODTURNER_CHART),
    _of(("Chlorocardium rodiei",), "sensitiser; eyes, skin, potency 3 of 4, common", WOODTURNER_CHART),
    _of(("Tsuga",), "nasal cancer suspected, potency unknown, uncommon", WOODTURNER_CHART),
    _of(
        ("Milicia excelsa",),
        "irritant, sensitiser, hypersensitivity pneumonitis; eyes, skin, breathing, potency 3 of 4, common",
        WOODTURNER_CHART,
    ),
    _of(
        ("Swietenia",),
        "sensitiser, hypersensitivity pneumonitis; skin, breathing, potency 1 of 4, uncommon",
        WOODTURNER_CHART,
    ),
    _of(("Mansonia altissima",), "irritant, sensitiser, nausea; eyes, skin, potency 3 of 4, common", WOODTURNER_CHART),
    _of(
        ("Acer",),
        "when spalted: sensitiser, hypersensitivity pneumonitis; breathing, potency 3 of 4, common",
        WOODTURNER_CHART,
    ),
    _of(("Quercus",), "sensitiser; eyes, skin, potency 2 of 4, rare; nasal cancer", WOODTURNER_CHART),
    _of(("Pterocarpus",), "sensitiser; eyes, skin, breathing, potency 1 of 4, rare", WOODTURNER_CHART),
    _of(("Machaerium scleroxylon",), "sensitiser; eyes, skin, potency 1 of 4, rare", WOODTURNER_CHART),
    _of(("Peltogyne",), "nausea, malaise, potency 2 of 4, common", WOODTURNER_CHART),
    _of(
        ("Sequoia sempervirens",),
        "sensitiser, hypersensitivity pneumonitis; eyes, skin, breathing, potency 2 of 4, rare",
        WOODTURNER_CHART,
    ),
    _of(("Dalbergia",), "irritant and sensitiser; eyes, skin, breathing, potency 4 of 4, uncommon", WOODTURNER_CHART),
    _of(("Chloroxylon swietenia",), "irritant; eyes, skin, breathing, potency 3 of 4, common", WOODTURNER_CHART),
    _of(
        ("Sassafras albidum",),
        "sensitiser, also a direct toxin (nausea); breathing, potency 1 of 4, common",
        WOODTURNER_CHART,
    ),
    _of(("Brosimum guianense",), "irritant; breathing, potency 2 of 4, rare", WOODTURNER_CHART),
    _of(("Millettia laurentii",), "sensitiser; eyes, skin, breathing, potency 1 of 4, common", WOODTURNER_CHART),
    _of(("Thuja plicata",), "sensitiser; breathing, potency 3 of 4, common", WOODTURNER_CHART),
    _of(
        ("Tectona grandis",),
        "sensitiser, hypersensitivity pneumonitis; eyes, skin, breathing, potency 2 of 4, common",
        WOODTURNER_CHART,
    ),
    _of(
        ("Taxus baccata",),
        "irritant of eyes and skin, potency 2 of 4; direct toxin to the heart, potency 4 of 4, common",
        WOODTURNER_CHART,
    ),
    _of(("Microberlinia brazzavillensis",), "sensitiser; eyes, skin, potency 2 of 4", WOODTURNER_CHART),
    _of(
        (
            "Larix",
            "Pseudotsuga menziesii",
            "Pinus",
            "Castanea",
            "Tieghemella heckelii",
            "Pericopsis elata",
            "Khaya",
            "Ulmus",
            "Milicia excelsa",
            "Dalbergia",
        ),
        "named among woods with effects on health, none said which",
        HANSARD,
    ),
    _of(("Acer",), "skin irritation, runny nose, asthma-like effects", WOOD_DATABASE),
    _of(("Fraxinus",), "skin irritation; decrease in lung function", WOOD_DATABASE),
    _of(("Guibourtia",), "skin irritation, skin lesions (uncommon)", WOOD_DATABASE),
    _of(
        ("Millettia laurentii",),
        "sensitiser, irritates eyes and skin, nervous effects, cramps; splinters go septic",
        WOOD_DATABASE,
    ),
    _of(("Shorea",), "eye, throat and skin irritation", WOOD_DATABASE),
    _of(("Swietenia macrophylla",), "sensitiser", WOOD_DATABASE),
    _of(("Pinus sylvestris",), "allergic skin reactions, asthma-like symptoms", WOOD_DATABASE),
    _of(("Quercus robur",), "sensitiser; eye and skin irritation, asthma-like symptoms", WOOD_DATABASE),
    _of(("Picea sitchensis",), "sensitiser; skin irritation, respiratory disorders", WOOD_DATABASE),
    _of(("Diospyros",), "sawdust may cause dermatitis", CHUDNOFF),
    _of(("Pterocarpus soyauxii",), "sawdust may cause respiratory problems", CHUDNOFF),
    _of(("Tectona grandis",), "dust may cause skin irritation", CHUDNOFF),
    _of(("Pterocarpus soyauxii",), "asthma, irritant, nausea; skin, eyes, lungs", WOLFE),
    _of(("Khaya",), "irritant, sensitiser, nasopharyngeal cancer (rare); skin, lungs", WOLFE),
    _of(("Dalbergia melanoxylon",), "irritant, sensitiser; skin, eyes, lungs", WOLFE),
    _of(("Pericopsis elata",), "dermatitis, rhinitis, asthma", QUEENSLAND),
    _of(("Afzelia",), "irritant, sneezing", QUEENSLAND),
    _of(("Handroanthus",), "machine dust is an irritant", DEALER),
    _of(("Milicia excelsa",), "asthma, dermatitis, nettle rash", HSE_WIS30, seen=False),
    _of(("Thuja plicata",), "asthma, rhinitis, dermatitis, irritation of mucous membranes", HSE_WIS30, seen=False),
    _of(("Entandrophragma cylindricum", "Entandrophragma utile"), "skin irritation", HSE_WIS30, seen=False),
    _of(
        ("Fagus sylvatica",),
        "dermatitis, eye irritation, decreased lung function, rare nasal cancer",
        HSE_WIS30,
        seen=False,
    ),
    _of(("Larix decidua",), "nettle rash, dermatitis", HSE_WIS30, seen=False),
    _of(("Pseudotsuga menziesii",), "dermatitis; splinters go septic", HSE_WIS30, seen=False),
    _of(("Fraxinus excelsior",), "decrease in lung function", HSE_WIS30, seen=False),
)

CONTACT = (
    _of(
        ("Acer saccharum",),
        "accepted in trade kitchens for cutting boards, blocks, bakers' tables, salad bowls and rolling pins",
        FOOD_CODE,
    ),
    _of(("Fraxinus", "Liriodendron tulipifera"), "gave butter no odour or flavour when well seasoned", DAVIS_MORBECK),
    _of(("Picea",), "eastern spruce gave butter no odour or flavour when well seasoned", DAVIS_MORBECK),
    _of(("Pinus radiata",), "liable to taint butter unless treated or wrapped", DAIRY_1934),
    _of(
        ("Juglans",),
        "a reaction of somebody with a nut allergy cannot be ruled out; risk judged very low, no study",
        AAAAI,
    ),
    _of(("Taxus baccata",), "poisonous: not for food contact", TOXICOLOGY, seen=False),
    _of(("Thuja plicata",), "California also accepts cedar planks for grilling or baking seafood on them", CALIFORNIA),
)
