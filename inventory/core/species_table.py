"""The species that are known by name: how heavy they are and how they are drawn.

Facts only; `inventory.core.species` finds and calculates. The specific gravity is oven-dry
weight over volume at 12 % moisture content, where a source gives it. The tones are
our own, chosen by eye for drawings, no source.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

HANDBOOK = "Forest Products Laboratory, Wood Handbook, FPL-GTR-190 (2010), table 5-3a"
BASIC_HANDBOOK = "the same, tables 5-5a and 5-5b: basic specific gravity, by equation 4-13 of FPL-GTR-282"
BASIC_CHUDNOFF = (
    "Chudnoff, Tropical Timbers of the World, USDA Agriculture Handbook 607 (1984): basic specific gravity, "
    "by equation 4-13 of FPL-GTR-282"
)
DRY_WDB = "Meier, The Wood Database: air-dry density / 1120"
DRY_WAGENFUEHR = "Wagenführ's wood atlas as quoted by a timber dealer: air-dry density / 1120"
DRY_TRADE = "data sheet of the Austrian or Spanish timber trade: air-dry density / 1120"
DRY_CIRAD = "technical data sheet after CIRAD: air-dry density / 1120"


@dataclass(frozen=True)
class Species:
    """One species, or a group of them, by its common name.

    `synonyms` are other names. Where `specific_gravity` is None no source was seen, or
    the name covers species of too different weight. `light` and `dark` are the
    tones of its grain as #rrggbb.
    """

    name: str
    synonyms: tuple[str, ...]
    botanical: str
    specific_gravity: Fraction | None
    source: str | None
    light: str
    dark: str


def _species(
    name: str, synonyms: tuple[str, ...], botanical: str, gravity: str | None, source: str | None, light: str, dark: str
) -> Species:
    return Species(name, synonyms, botanical, None if gravity is None else Fraction(gravity), source, light, dark)


KNOWN = (
    _species("white ash", ("ash", "american ash"), "Fraxinus americana", "0.60", HANDBOOK, "#e6d5b4", "#b3905f"),
    _species("black ash", ("brown ash",), "Fraxinus nigra", "0.49", HANDBOOK, "#cdb48d", "#8d6b44"),
    _species("quaking aspen", ("aspen",), "Populus tremuloides", "0.38", HANDBOOK, "#efe6d2", "#cdbb98"),
    _species(
        "basswood", ("american basswood", "american lime"), "Tilia americana", "0.37", HANDBOOK, "#efe2c6", "#cfb88f"
    ),
    _species("American beech", ("beech",), "Fagus grandifolia", "0.64", HANDBOOK, "#e0bd98", "#b78659"),
    _species("paper birch", ("white birch",), "Betula papyrifera", "0.55", HANDBOOK, "#eddcbb", "#c8a877"),
    _species("yellow birch", (), "Betula alleghaniensis", "0.62", HANDBOOK, "#e6cda2", "#bb9057"),
    _species("butternut", ("white walnut",), "Juglans cinerea", "0.38", HANDBOOK, "#c9a983", "#8d6a47"),
    _species("black cherry", ("cherry", "american cherry"), "Prunus serotina", "0.50", HANDBOOK, "#c68e66", "#935638"),
    _species("American chestnut", ("wormy chestnut",), "Castanea dentata", "0.43", HANDBOOK, "#c9a67a", "#8a653f"),
    _species("cottonwood", ("eastern cottonwood",), "Populus deltoides", "0.40", HANDBOOK, "#e6d9bf", "#bda684"),
    _species("American elm", ("white elm",), "Ulmus americana", "0.50", HANDBOOK, "#cfae85", "#8f6a45"),
    _species("hackberry", (), "Celtis occidentalis", "0.53", HANDBOOK, "#e0d0a4", "#a99462"),
    _species("pecan", ("pecan hickory",), "Carya illinoinensis", "0.66", HANDBOOK, "#dcbf98", "#a17848"),
    _species("hickory", ("shagbark hickory", "true hickory"), "Carya ovata", "0.72", HANDBOOK, "#e0c6a0", "#a47b4c"),
    _species("hard maple", ("sugar maple", "rock maple"), "Acer saccharum", "0.63", HANDBOOK, "#ecdaba", "#c9a97e"),
    _species("red maple", ("soft maple",), "Acer rubrum", "0.54", HANDBOOK, "#e4cba8", "#b9936a"),
    _species("silver maple", (), "Acer saccharinum", "0.47", HANDBOOK, "#e6d2b2", "#bd9c76"),
    _species(
        "red oak", ("northern red oak", "american red oak"), "Quercus rubra", "0.63", HANDBOOK, "#d3a680", "#976243"
    ),
    _species("white oak", ("american white oak",), "Quercus alba", "0.68", HANDBOOK, "#ceb082", "#8e6c44"),
    _species("sweetgum", ("red gum", "sap gum"), "Liquidambar styraciflua", "0.52", HANDBOOK, "#cda07b", "#8f5f42"),
    _species("American sycamore", ("american plane",), "Platanus occidentalis", "0.49", HANDBOOK, "#dcb795", "#a87a58"),
    _species("black tupelo", ("tupelo", "black gum"), "Nyssa sylvatica", "0.50", HANDBOOK, "#ddccac", "#a8916b"),
    _species("black walnut", ("walnut", "american walnut"), "Juglans nigra", "0.55", HANDBOOK, "#7d5b43", "#452f22"),
    _species("red alder", ("alder",), "Alnus rubra", "0.41", HANDBOOK, "#dbb08a", "#ad7c57"),
    _species(
        "yellow-poplar",
        ("poplar", "yellow poplar", "tulipwood", "tulip poplar"),
        "Liriodendron tulipifera",
        "0.42",
        HANDBOOK,
        "#dcd8ae",
        "#9a9c6a",
    ),
    _species(
        "Douglas-fir",
        ("douglas fir", "coast douglas-fir", "oregon pine"),
        "Pseudotsuga menziesii",
        "0.48",
        HANDBOOK,
        "#e2ae7c",
        "#a65d36",
    ),
    _species("eastern white pine", ("white pine",), "Pinus strobus", "0.35", HANDBOOK, "#f0ddb0", "#cfa566"),
    _species(
        "longleaf pine",
        ("pitch pine", "heart pine", "southern yellow pine"),
        "Pinus palustris",
        "0.59",
        HANDBOOK,
        "#e3b06c",
        "#a15b2c",
    ),
    _species("loblolly pine", (), "Pinus taeda", "0.51", HANDBOOK, "#ebc588", "#b37a3d"),
    _species("western redcedar", ("western red cedar",), "Thuja plicata", "0.32", HANDBOOK, "#bd835f", "#804c33"),
    _species("eastern redcedar", ("aromatic cedar",), "Juniperus virginiana", "0.47", HANDBOOK, "#c5796a", "#8d3f3a"),
    _species("Sitka spruce", (), "Picea sitchensis", "0.40", HANDBOOK, "#efd9b5", "#caa271"),
    _species("eastern hemlock", (), "Tsuga canadensis", "0.40", HANDBOOK, "#e2c9a3", "#b08b60"),
    _species("western hemlock", (), "Tsuga heterophylla", "0.45", HANDBOOK, "#e4cda9", "#b59167"),
    _species("redwood", ("coast redwood",), "Sequoia sempervirens", "0.40", HANDBOOK, "#b1684c", "#713426"),
    _species("western larch", (), "Larix occidentalis", "0.52", HANDBOOK, "#d49a65", "#8f5530"),
    _species("European beech", (), "Fagus sylvatica", "0.62", DRY_WAGENFUEHR, "#dfb58e", "#b9824f"),
    _species("European oak", ("english oak", "french oak"), "Quercus robur", "0.60", DRY_WDB, "#c9a87a", "#876540"),
    _species("European ash", ("english ash",), "Fraxinus excelsior", "0.61", DRY_WDB, "#e4d2b2", "#b08c5e"),
    _species(
        "sycamore maple",
        ("sycamore", "european maple", "european sycamore"),
        "Acer pseudoplatanus",
        "0.57",
        DRY_TRADE,
        "#f0e3cb",
        "#cdb48f",
    ),
    _species("European walnut", ("english walnut",), "Juglans regia", "0.58", DRY_TRADE, "#8e6f55", "#54402f"),
    _species("European larch", ("larch",), "Larix decidua", "0.52", DRY_TRADE, "#d7a26f", "#955a34"),
    _species("Scots pine", ("european redwood", "red deal"), "Pinus sylvestris", "0.49", DRY_WDB, "#ecca94", "#bd8446"),
    _species(
        "Honduran mahogany", ("genuine mahogany",), "Swietenia macrophylla", "0.53", DRY_WDB, "#ac6c4c", "#764430"
    ),
    _species("African mahogany", ("khaya",), "Khaya spp.", None, None, "#b3755a", "#7f4a37"),
    _species("sapele", (), "Entandrophragma cylindricum", "0.60", BASIC_CHUDNOFF, "#a06248", "#623727"),
    _species("utile", ("sipo",), "Entandrophragma utile", "0.58", BASIC_CHUDNOFF, "#9c5f48", "#643a2b"),
    _species("iroko", (), "Milicia excelsa", "0.59", DRY_WDB, "#b98a51", "#7a5429"),
    _species("teak", (), "Tectona grandis", "0.60", BASIC_HANDBOOK, "#b4874f", "#74502a"),
    _species("wenge", (), "Millettia laurentii", "0.78", DRY_WDB, "#5a463a", "#2b201a"),
    _species("African padauk", ("padauk",), "Pterocarpus soyauxii", "0.68", BASIC_CHUDNOFF, "#b4512f", "#74291a"),
    _species("purpleheart", (), "Peltogyne spp.", "0.81", DRY_WDB, "#7b4368", "#4c2342"),
    _species("bubinga", (), "Guibourtia spp.", "0.79", DRY_WDB, "#a25a4a", "#6b322a"),
    _species("jatoba", ("brazilian cherry",), "Hymenaea courbaril", "0.81", DRY_WDB, "#a55f3f", "#6d3823"),
    _species("ipe", (), "Handroanthus spp. (Tabebuia)", "1.08", BASIC_HANDBOOK, "#776044", "#463824"),
    _species(
        "East Indian rosewood",
        ("indian rosewood",),
        "Dalbergia latifolia",
        "0.79",
        BASIC_CHUDNOFF,
        "#70504a",
        "#3f2a2b",
    ),
    _species("zebrawood", (), "Microberlinia brazzavillensis", "0.71", DRY_CIRAD, "#c9a76f", "#5d452c"),
    _species(
        "Gaboon ebony", ("ebony", "african ebony"), "Diospyros crassiflora", "0.92", DRY_WDB, "#3c3430", "#1b1715"
    ),
    _species("dark red meranti", (), "Shorea spp.", "0.50", BASIC_HANDBOOK, "#9f5f4b", "#6b3a2e"),
    _species("light red meranti", (), "Shorea spp.", "0.36", BASIC_HANDBOOK, "#c68d73", "#956049"),
    _species("African blackwood", (), "Dalbergia melanoxylon", None, None, "#40343a", "#1e171b"),
    _species("afrormosia", (), "Pericopsis elata", None, None, "#b08a52", "#735326"),
    _species("afzelia", (), "Afzelia spp.", None, None, "#b5774b", "#7c4a2b"),
    _species("baldcypress", ("cypress",), "Taxodium distichum", None, None, "#dcbd8a", "#a67d4c"),
    _species("birch", (), "Betula spp.", None, None, "#e9d4ae", "#c09a66"),
    _species("black locust", ("locust", "robinia"), "Robinia pseudoacacia", None, None, "#c2a75c", "#80692f"),
    _species("boxwood", (), "Buxus and others", None, None, "#ead79a", "#c4a95f"),
    _species("cocobolo", (), "Dalbergia retusa", None, None, "#a55330", "#5a2619"),
    _species("elm", (), "Ulmus spp.", None, None, "#cba97f", "#8d6843"),
    _species("goncalo alves", (), "Astronium spp.", None, None, "#b57a4c", "#5f3a24"),
    _species("greenheart", (), "Chlorocardium rodiei", None, None, "#9c9660", "#5f5c38"),
    _species("hemlock", (), "Tsuga spp.", None, None, "#e3cba6", "#b38e63"),
    _species("mahogany", (), "Swietenia spp.", None, None, "#ac6c4c", "#784630"),
    _species("makore", (), "Tieghemella heckelii", None, None, "#a8684f", "#713e2f"),
    _species("mansonia", (), "Mansonia altissima", None, None, "#86705e", "#54443a"),
    _species("maple", (), "Acer spp.", None, None, "#e8d2b0", "#c29e73"),
    _species("meranti", (), "Shorea spp.", None, None, "#b3765f", "#814d3c"),
    _species("oak", (), "Quercus spp.", None, None, "#ccaa7e", "#8b6843"),
    _species("obeche", (), "Triplochiton scleroxylon", None, None, "#eddcae", "#cbb27a"),
    _species("olivewood", ("olive",), "Olea spp.", None, None, "#d8b877", "#7f5e34"),
    _species("pau ferro", (), "Machaerium scleroxylon", None, None, "#7c5745", "#45302a"),
    _species("pine", (), "Pinus spp.", None, None, "#ecd09c", "#be8444"),
    _species("radiata pine", (), "Pinus radiata", None, None, "#eed7a6", "#c89a5c"),
    _species("rosewood", (), "Dalbergia spp.", None, None, "#7d5046", "#472a27"),
    _species("sassafras", (), "Sassafras albidum", None, None, "#c7ac7f", "#8a6d45"),
    _species("satinwood", (), "Chloroxylon swietenia and others", None, None, "#e6c877", "#bb9440"),
    _species("snakewood", (), "Brosimum guianense", None, None, "#8d4a2c", "#4b2216"),
    _species("spruce", (), "Picea spp.", None, None, "#f0dcba", "#cda878"),
    _species("yew", (), "Taxus baccata", None, None, "#d1925c", "#8f5230"),
)
