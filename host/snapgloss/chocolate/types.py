"""Dark, milk and white: the temperatures each is worked at, with the source beside each figure.

Marks: [P] published, the source named; [CP] common practice of the trade, no source. The ranges
are unions of several culinary tables [P]; the defaults are picks inside them [CP], not measured
optima. All temperatures are milli-degC. Milk fat lowers every figure, so no limit of dark holds
for milk or white.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import NamedTuple

from snapgloss.base.errors import InputError
from snapgloss.chocolate import heat

# Wille & Lutton (1966), J. Am. Oil Chem. Soc. 43:491, quoted second-hand; +-1.5 between batches
# of cocoa butter.
FORM_V_MELTING_MC = 33_800
HOT_MOST_MC = 60_000
"""A bowl that is fed hot: only where the schedule says so, and it cools at once [CP]."""
MILK_FAT_MOST_SHARE = 0.4
"""Of the fat; more is butter with cocoa in it, and no figure here holds (own choice)."""
MILK_FAT_MC_PER_PERCENT = round(1000 * heat.MILK_FAT_K_PER_PERCENT)
# Solid chocolate carries its history until it is well above form VI (36.3, same source): van
# Langevelde et al. (2001) JAOCS 78:919-925 for the memory, 40 as the least melt [CP].
MELT_LEAST_MC = 40_000


class Band(NamedTuple):
    """The usual range of a temperature and the value taken when nobody chose one, milli-degC."""

    low_mc: int
    default_mc: int
    high_mc: int

    def lowered(self, down_mc: int) -> "Band":
        """Return the band `down_mc` further down."""
        return Band(*(value_mc - down_mc for value_mc in self))


@dataclass(frozen=True, slots=True)
class ChocolateType:
    """One type of chocolate and the limits that protect it, milli-degC unless named otherwise.

    `melt`, `cool` (the low point of cooling alone) and `work` are usual ranges with a default.
    `work_low_mc`: below it the bowl thickens and unstable forms grow. `cap_mc`: no work target
    above it. `wall_mc`: no wall or plate above it once stable crystals are in the bowl.
    `hard_mc`: the chocolate itself never above it. `plate_mc`: the plate never above it.
    `seed_at_mc`, `seed_low_mc`, `seed_high_mc`: where seed goes in. `fat_share`: of the
    chocolate; `milk_fat_share`: of that fat. `melt_out_s`: time well melted before cooling.
    `own_specific_heat` (J/kg K), `own_latent_heat` (J/kg) and `own_depression_k` (K) stand in
    for the derived ones.
    """

    key: str
    melt: Band
    cool: Band
    work: Band
    work_low_mc: int
    cap_mc: int
    wall_mc: int
    hard_mc: int
    plate_mc: int
    seed_low_mc: int
    seed_at_mc: int
    seed_high_mc: int
    fat_share: float
    milk_fat_share: float
    melt_out_s: int
    own_specific_heat: float | None = None
    own_latent_heat: float | None = None
    own_depression_k: float | None = None

    @property
    def specific_heat(self) -> float:
        """Return J/kg K without melting."""
        return self.own_specific_heat or heat.specific_heat(self.fat_share)

    @property
    def latent_heat(self) -> float:
        """Return J/kg from fully set to melted."""
        return self.own_latent_heat or heat.latent_heat(self.fat_share)

    @property
    def depression_k(self) -> float:
        """Return K by which its melting points are lowered: own figure, else by its milk fat."""
        own_k = self.own_depression_k
        return heat.melting_depression(self.milk_fat_share) if own_k is None else own_k

    @property
    def window(self) -> tuple[int, int]:
        """Return (low_mc, high_mc) of the usual working range."""
        return self.work.low_mc, self.work.high_mc

    def with_milk_fat(self, share: float) -> "ChocolateType":
        """Return the type for a label that says how much of the fat is milk fat, 0..0.4.

        More than the type's usual share lowers every limit and default that protects crystals
        by 0.08 K per 1 %. Less than usual raises none: the caps are those of the trade.
        Raises InputError for a share that cannot be.
        """
        if not 0 <= share <= MILK_FAT_MOST_SHARE:  # NaN fails this too
            most = f"{MILK_FAT_MOST_SHARE:.0%}".replace("%", " %")
            raise InputError(
                f"{share * 100:g} % of milk fat in the fat is not {self.key} chocolate.",
                f"Give 0 % to {most}.",
            )
        more_percent = max(0.0, share - self.milk_fat_share) * 100
        down_mc = round(MILK_FAT_MC_PER_PERCENT * more_percent)
        return replace(self.lowered(down_mc), milk_fat_share=share)

    def lowered(self, down_mc: int) -> "ChocolateType":
        """Return the type with every limit and default that protects crystals further down."""
        single = {name: getattr(self, name) - down_mc for name in LOWERED}
        return replace(
            self,
            cool=self.cool.lowered(down_mc),
            work=self.work.lowered(down_mc),
            **single,
        )


LOWERED = ("work_low_mc", "cap_mc", "wall_mc", "seed_low_mc", "seed_at_mc", "seed_high_mc")
"""The single figures that milk fat lowers; `cool` and `work` go with them."""


DARK = ChocolateType(
    key="dark",
    # [P] culinary reference 50-55 / 28-29 / 31-32; another 27-28 / 31-32; a cocoa-quality guide
    # melts to 45. Defaults [CP].
    melt=Band(45_000, 48_000, 55_000),
    cool=Band(27_000, 28_000, 29_000),
    work=Band(31_000, 31_500, 32_000),
    work_low_mc=30_000,  # [CP]
    cap_mc=32_500,  # [CP]
    wall_mc=34_000,  # [CP]
    hard_mc=55_000,  # [P] "not above 49-55", the upper end [CP]
    plate_mc=60_000,  # [CP]
    seed_low_mc=33_000,  # [CP] 33-34 for 5-8 % grated or chopped
    seed_at_mc=33_500,  # [CP]
    seed_high_mc=34_000,  # [P] stable crystals added at 34, a food-technology portal, 2011
    fat_share=0.36,  # [CP] labels say 0.30-0.42
    milk_fat_share=0.0,
    melt_out_s=600,  # [CP] 10-20 min
)

MILK = ChocolateType(
    key="milk",
    # [P] 45-50 / 27-28 / 30-31; other tables work at 29-30. Defaults [CP].
    melt=Band(40_000, 45_000, 50_000),
    cool=Band(26_000, 27_000, 28_000),
    work=Band(29_000, 29_800, 31_000),
    work_low_mc=28_000,  # [CP]
    cap_mc=31_000,  # [CP]
    wall_mc=32_500,  # [CP]
    hard_mc=50_000,  # [P] not above 50: milk protein and sugar turn grainy
    plate_mc=55_000,  # [CP]
    seed_low_mc=31_500,  # [CP]
    seed_at_mc=32_000,  # [CP]
    seed_high_mc=32_500,  # [CP]
    fat_share=0.32,  # [CP] labels say 0.28-0.36
    milk_fat_share=0.16,  # [CP] where the label does not say
    melt_out_s=600,  # [CP]
)

WHITE = ChocolateType(
    key="white",
    # [P] 45-50 / 26-27 / 29-30; other tables work at 28-29. Melt ends at the hard limit of 48,
    # not at the table's 50. Defaults [CP].
    melt=Band(40_000, 43_000, 48_000),
    cool=Band(25_000, 26_000, 27_000),
    work=Band(27_500, 28_800, 30_000),
    work_low_mc=27_000,  # [CP]
    cap_mc=30_000,  # [CP]
    wall_mc=31_500,  # [CP]
    hard_mc=48_000,  # [CP] below the published 50
    plate_mc=55_000,  # [CP]
    seed_low_mc=30_500,  # [CP]
    seed_at_mc=31_000,  # [CP]
    seed_high_mc=31_500,  # [CP]
    fat_share=0.33,  # [CP] labels say 0.28-0.38
    milk_fat_share=0.20,  # [CP] where the label does not say
    melt_out_s=600,  # [CP]
)

TYPES: Mapping[str, ChocolateType] = MappingProxyType({t.key: t for t in (DARK, MILK, WHITE)})


def type_of(key: str) -> ChocolateType:
    """Return the type named "dark", "milk" or "white"; InputError for any other name."""
    try:
        return TYPES[key]
    except KeyError:
        raise InputError(
            f'"{key}" is not a type of chocolate.', "Say dark, milk or white."
        ) from None
