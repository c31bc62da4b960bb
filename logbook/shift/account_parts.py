"""The accounts of one period, part by part, from its gathered figures.

Each function takes figures by role and hands them to the plant's arithmetic. What the template
does not measure is taken as said in the docstrings, and noted with the figure.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

from logbook.process.cooler import Cooler, CoolerReadings, cooler
from logbook.process.desolventizing import Toaster, ToasterReadings, toaster
from logbook.process.dryer import STEAM_FACTOR, Dryer, DryerReadings, dryer
from logbook.process.evaporation import Stage, stage
from logbook.process.extractor import (
    Extraction,
    ExtractorError,
    ExtractorState,
    calibrate,
    predict_extraction,
)
from logbook.process.meal import (
    GradeCheck,
    HullAddBack,
    MealAnalysis,
    MealGrade,
    check_grade,
    hulls_to_add,
)
from logbook.process.meal_giveaway import (
    DryingGiveaway,
    ProteinGiveaway,
    drying_giveaway,
    protein_giveaway,
)
from logbook.process.oil_account import OilAccount, OilWorth, oil_account, oil_worth
from logbook.process.quantity import Quantity, absent, derive
from logbook.process.reconcile_plant import solvent_density
from logbook.process.water_account import WaterAccount, water_account
from logbook.process.yields import (
    DRY_MATTER,
    Allowed,
    Basis,
    BeanAnalysis,
    Leavings,
    Weighed,
    YieldGaps,
    Yields,
    against_analysis,
    against_standard,
    allowed,
    yields,
)
from logbook.shift.account_inputs import AccountInputs

STEAM_KPA = Quantity(
    "pressure of the steam", 700.0, "kPa abs", 100.0, note="taken as 700 kPa abs: it hardly counts"
)
BAROMETER_SIGMA = 0.8
"""Standard uncertainty of the mean barometer the plant states, kPa: the weather; from memory."""
FACTOR_SIGMA = 0.05
"""Standard uncertainty of a stated factor of the dryer's steam; from memory."""
STAGES = 6
"""Washing stages of an extractor that states none."""


@dataclass(frozen=True, slots=True)
class YieldsFound:
    """Yields of a period, and what they are held against."""

    as_is: Yields
    dry: Yields
    stated: Yields | None
    """Beans at the moisture at which they are traded, meal and hulls at the most allowed; None where
    the plant states neither."""
    standard: YieldGaps
    """Against the standard crush conversion, as is."""
    allowed: Allowed
    """What the analysis of the beans allows."""
    gaps: YieldGaps
    """Against what the analysis allows."""


@dataclass(frozen=True, slots=True)
class MealFound:
    """Finished meal against its guarantees, and what was given away."""

    analysis: MealAnalysis
    checks: tuple[GradeCheck, ...]
    protein: ProteinGiveaway | None
    """None where the plant states no guarantee."""
    drying: DryingGiveaway | None
    """None where the plant states no limit."""
    hulls: HullAddBack | None
    """Hulls that could be added back down to the guarantee."""


@dataclass(frozen=True, slots=True)
class ExtractorFound:
    """The extractor as it ran."""

    ratio: Quantity
    """Solvent per flakes, kg/kg."""
    ratio_volume: Quantity
    """The same as read on the meters, m³/t."""
    residual_oil: Quantity
    """Oil of spent flakes, dry and solvent-free, %."""
    miscella_oil: Quantity
    predicted: Extraction | None
    """By washing stages of the efficiency that leaves the measured residual oil."""
    state: ExtractorState | None
    """That state, to ask what-if of; None where it cannot be told."""
    note: str = ""


def barometer(inputs: AccountInputs) -> Quantity:
    """The barometer that the plant states, kPa abs."""
    value = inputs.plant.settings.barometer_kpa
    return Quantity("barometer", value, "kPa abs", BAROMETER_SIGMA, source="stated by the plant")


def hulls_sold(inputs: AccountInputs) -> Quantity:
    """Hulls that did not go back into the meal, t."""
    hulls, added = inputs["hulls"], inputs["hulls_added"]
    if not added.is_known:
        return hulls
    return derive("hulls not added back", "t", _less, {"a": hulls, "b": added})


def hull_moisture(inputs: AccountInputs) -> Quantity:
    """Moisture of the hulls, taken as that of the beans, %: hulls are not analysed for it."""
    beans = inputs["bean_moisture"]
    if beans.value is None:
        return absent("moisture of the hulls", "%", *beans.missing)
    return Quantity(
        "moisture of the hulls",
        beans.value,
        "%",
        1.0,
        inputs=beans.inputs,
        note="taken as that of the beans, give or take 1 %",
    )


def oil_of(inputs: AccountInputs) -> OilAccount:
    """Oil of the beans: out, in meal, in the hulls sold, and the rest."""
    return oil_account(
        beans=inputs["beans"],
        bean_oil=inputs["bean_oil"],
        oil=inputs["oil"],
        meal=inputs["meal"],
        meal_oil=inputs["meal_oil"],
        hulls=hulls_sold(inputs),
        hull_oil=inputs["hull_oil"],
        oil_purity=_purity(inputs),
    )


def _purity(inputs: AccountInputs) -> Quantity | None:
    moisture, solvent = inputs["oil_moisture"], inputs["oil_solvent"]
    if not moisture.is_known:
        return None
    if not solvent.is_known:
        solvent = Quantity("solvent in oil", 0.0, "mg/kg", 0.0)
    return derive("oil purity", "%", _pure, {"moisture": moisture, "solvent": solvent})


def oil_worth_of(inputs: AccountInputs, found: OilAccount) -> OilWorth | None:
    """What oil that was not sold is worth a day; None where the plant states no price."""
    price = inputs.figure("oil_price").value
    if price is None or inputs.days <= 0.0:
        return None
    money = inputs.plant.accounts.words.get("money", "")
    return oil_worth(found, price_per_t=price, days=inputs.days, meal=inputs["meal"], money=money)


def yields_of(inputs: AccountInputs) -> YieldsFound:
    """Yields as is and in dry matter, against the standard crush and the analysis of the beans."""
    beans = Weighed(inputs["beans"], inputs["bean_moisture"])
    oil = Weighed(inputs["oil"], inputs["oil_moisture"])
    meal = Weighed(inputs["meal"], inputs["meal_moisture"])
    hulls = Weighed(hulls_sold(inputs), hull_moisture(inputs))
    as_is = yields(beans, oil=oil, meal=meal, hulls=hulls)
    stated = inputs.plant.accounts.figures
    traded, most_moist = stated.get("bean_moisture_basis"), stated.get("meal_moisture_limit")
    share = derive("hulls of beans", "%", _share, {"part": hulls.mass, "whole": beans.mass})
    most = allowed(
        BeanAnalysis(inputs["bean_moisture"], inputs["bean_oil"], inputs["bean_protein"]),
        Leavings(
            meal_moisture=inputs["meal_moisture"],
            meal_oil=inputs["meal_oil"],
            hulls=share,
            hull_moisture=hull_moisture(inputs),
            hull_oil=inputs["hull_oil"],
            hull_protein=inputs["hull_protein"],
        ),
    )
    return YieldsFound(
        as_is,
        yields(beans, oil=oil, meal=meal, hulls=hulls, basis=DRY_MATTER),
        None
        if traded is None
        else yields(beans, oil=oil, meal=meal, hulls=hulls, basis=Basis(traded, most_moist)),
        against_standard(as_is),
        most,
        against_analysis(as_is, most),
    )


def meal_of(inputs: AccountInputs) -> MealFound:
    """Finished meal against what the plant guarantees."""
    meal = MealAnalysis(
        inputs["meal_protein"], inputs["meal_fibre"], inputs["meal_moisture"], inputs["meal_oil"]
    )
    stated = inputs.plant.accounts.figures
    protein, fibre = stated.get("meal_protein_guarantee"), stated.get("meal_fibre_limit")
    moisture, oil = stated.get("meal_moisture_limit"), stated.get("meal_oil_guarantee")
    meal_price = stated.get("meal_price")
    hulls = MealAnalysis(
        inputs["hull_protein"], inputs["hull_fibre"], hull_moisture(inputs), inputs["hull_oil"]
    )
    return MealFound(
        meal,
        check_grade(meal, MealGrade("guaranteed", protein, fibre, moisture, oil)),
        None
        if protein is None
        else protein_giveaway(
            inputs["meal"],
            meal.protein,
            protein,
            hull_protein=inputs["hull_protein"],
            hull_price=stated.get("hull_price"),
            money=_money(inputs),
            meal_price=meal_price,
        ),
        None
        if moisture is None
        else drying_giveaway(
            inputs["meal"],
            meal.moisture,
            moisture,
            protein=meal.protein,
            protein_least=protein,
            money=_money(inputs),
            meal_price=meal_price,
        ),
        None
        if protein is None
        else hulls_to_add(meal, hulls, protein_target=protein, fibre_most=fibre),
    )


def _money(inputs: AccountInputs) -> str:
    return inputs.plant.accounts.words.get("money", "")


def dry_meal(inputs: AccountInputs) -> Quantity:
    """Dry matter of the meal without the hulls added back, with its oil, t."""
    parts = {
        "meal": inputs["meal"],
        "moisture": inputs["meal_moisture"],
        "added": _added(inputs),
        "hull_moisture": hull_moisture(inputs),
    }
    return derive("dry matter of the meal", "t", _dry, parts)


def _added(inputs: AccountInputs) -> Quantity:
    added = inputs["hulls_added"]
    return added if added.is_known else Quantity("hulls added back", 0.0, "t", 0.0)


def toaster_of(inputs: AccountInputs) -> Toaster:
    """Desolventizing: flakes taken as warm as the solvent, vapour at the barometer."""
    return toaster(
        ToasterReadings(
            dry_meal=dry_meal(inputs),
            solvent_in=inputs["spent_solvent"],
            water_in=inputs["spent_moisture"],
            solvent_out=inputs["toasted_solvent"],
            moisture_out=inputs["toasted_moisture"],
            flakes_c=inputs["solvent_temp"].named("spent flakes, taken as warm as the solvent"),
            meal_c=inputs["toasted_temp"],
            vapour_c=inputs["vapour_temp"],
            steam=inputs["sparge_steam"],
            steam_kpa=STEAM_KPA,
            pressure=barometer(inputs),
        )
    )


def dryer_of(inputs: AccountInputs) -> Dryer:
    """Drying of the toasted meal by air that steam has heated.

    A plant whose dryer takes in warm air, or whose steam meter reads low, states by how much.
    """
    stated = inputs.figure("dryer_steam_factor")
    factor = replace(stated, sigma=FACTOR_SIGMA) if stated.is_known else STEAM_FACTOR
    return dryer(
        DryerReadings(
            meal=_wet(inputs, "toasted_moisture"),
            moisture_in=inputs["toasted_moisture"],
            moisture_out=inputs["dryer_moisture"],
            meal_in_c=inputs["toasted_temp"],
            meal_out_c=inputs["dryer_meal_temp"],
            air_c=inputs["dryer_air_temp"],
            exhaust_c=inputs["dryer_exhaust_temp"],
            outside_c=inputs["ambient_temp"],
            outside_humidity=_humidity(inputs),
            steam=inputs["dryer_steam"],
            steam_kpa=STEAM_KPA,
            barometer=barometer(inputs),
            factor=factor,
        )
    )


def cooler_of(inputs: AccountInputs) -> Cooler:
    """Cooling of the dried meal by outside air."""
    return cooler(
        CoolerReadings(
            meal=_wet(inputs, "dryer_moisture"),
            moisture_in=inputs["dryer_moisture"],
            moisture_out=inputs["meal_moisture"],
            meal_in_c=inputs["dryer_meal_temp"],
            meal_out_c=inputs["cooled_meal_temp"],
            outside_c=inputs["ambient_temp"],
            outside_humidity=_humidity(inputs),
            barometer=barometer(inputs),
        )
    )


def _wet(inputs: AccountInputs, moisture: str) -> Quantity:
    """The meal's dry matter with so much water, t."""
    parts = {"dry": dry_meal(inputs), "moisture": inputs[moisture]}
    return derive("meal at that moisture", "t", _at_moisture, parts)


def _humidity(inputs: AccountInputs) -> Quantity:
    return replace(inputs["ambient_humidity"], unit="%")


def water_of(inputs: AccountInputs, found: Toaster) -> WaterAccount:
    """Water from the beans and the steam to the products and the air."""
    names = (
        "beans", "bean_moisture", "flakes", "flake_moisture", "hulls", "sparge_steam",
        "vapour_temp", "toasted_moisture", "dryer_moisture", "meal", "meal_moisture",
    )  # fmt: skip
    readings = {name: inputs[name] for name in names}
    return water_account(
        {
            **readings,
            "hulls_added": _added(inputs),
            "hull_moisture": hull_moisture(inputs),
            "solvent_vapour": found.solvent,
            "dome_pressure": barometer(inputs),
        }
    )


def stages_of(inputs: AccountInputs) -> Mapping[str, Stage]:
    """What temperature and pressure of the evaporators say of the miscella that leaves them."""
    return {
        name: stage(inputs[f"{name}_temp"], inputs[f"{name}_pressure"], inputs[f"{name}_oil"])
        for name in ("first_stage", "second_stage")
    }


def extractor_of(inputs: AccountInputs) -> ExtractorFound:
    """The extractor as it ran, and the washing stages that would leave what was measured."""
    flakes, solvent = inputs["flakes"], inputs["fresh_solvent"]
    warm = inputs["solvent_temp"]
    density = derive("density of the solvent", "t/m³", solvent_density, {"t_c": warm})
    ratio = derive(
        "solvent per flakes", "kg/kg", _ratio, {"a": solvent, "b": flakes, "density": density}
    )
    volume = derive("solvent per flakes", "m³/t", _ratio, {"a": solvent, "b": flakes})
    told = (ratio, volume, inputs["spent_oil"], inputs["miscella_oil"])
    state = _state(inputs, density)
    if state is None:
        return ExtractorFound(*told, None, None, "not all that a prediction needs was measured")
    try:
        fitted = calibrate(state, inputs["spent_oil"].value or 0.0)
        return ExtractorFound(*told, predict_extraction(fitted), fitted)
    except ExtractorError as problem:
        return ExtractorFound(*told, None, None, str(problem))


def _state(inputs: AccountInputs, density: Quantity) -> ExtractorState | None:
    names = ("flakes", "fresh_solvent", "flake_oil", "flake_moisture", "spent_solvent", "hours")
    values = [inputs[name].value for name in (*names, "spent_oil")] + [density.value]
    known = [value for value in values if value is not None]
    if len(known) < len(values) or not known[5] > 0.0:
        return None
    flakes, solvent, oil, moisture, drained, hours, _, t_m3 = known
    try:
        return ExtractorState(
            flakes_t_h=flakes / hours,
            oil_pct=oil,
            moisture_pct=moisture,
            solvent_t_h=solvent * t_m3 / hours,
            drainage_pct=drained,
            stages=round(inputs.plant.accounts.figures.get("extractor_stages", STAGES)),
        )
    except ExtractorError:
        return None


def _less(a: float, b: float) -> float:
    return a - b


def _ratio(a: float, b: float, density: float = 1.0) -> float:
    return a * density / b


def _share(part: float, whole: float) -> float:
    return 100.0 * part / whole


def _pure(moisture: float, solvent: float) -> float:
    return 100.0 - moisture - solvent / 1e4


def _dry(meal: float, moisture: float, added: float, hull_moisture: float) -> float:
    return (meal * (100.0 - moisture) - added * (100.0 - hull_moisture)) / 100.0


def _at_moisture(dry: float, moisture: float) -> float:
    return math.inf if moisture >= 100.0 else 100.0 * dry / (100.0 - moisture)
