"""All accounts of one period, put together from the book's figures.

Where to begin: `inputs_of(book, plant, start, end)` in `account_inputs` gathers the figures, and
`accounts_of(inputs)` here works everything out. A figure that cannot be told has no value, names
what is missing and says why; nothing is guessed.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from logbook.process.cooler import Cooler
from logbook.process.counter_track import track
from logbook.process.desolventizing import Toaster
from logbook.process.dryer import Dryer
from logbook.process.evaporation import Stage
from logbook.process.oil_account import OilAccount, OilWorth
from logbook.process.reconcile_plant import PlantReconciliation, reconcile_plant
from logbook.process.roles import ROLES
from logbook.process.throughput import Stop, Throughput, throughput
from logbook.process.water_account import WaterAccount
from logbook.shift import account_parts as parts
from logbook.shift.account_inputs import AccountInputs
from logbook.shift.account_parts import ExtractorFound, MealFound, YieldsFound
from logbook.shift.account_solvent import SolventFound, solvent_of
from logbook.shift.downtime import line_areas, nominal_tonnes_per_hour

IN_PROCESS_T = 10.0
"""Standard uncertainty of the change in what the vessels hold, t, where a period begins or ends
within some hours of a stop of the line; common practice, no source."""
NEAR_STOP_H = 6.0

CAUTIONS = (
    (
        "These accounts support, and do not replace, the site's compliance records, its permits and "
        "licensed engineers."
    ),
    (
        "Residual solvent and vapour figures are no statement of safety: site procedures and the "
        "laboratory's analysis come first."
    ),
)


@dataclass(frozen=True, slots=True)
class Accounts:
    """What went in, what came out and where the rest is, of one period."""

    inputs: AccountInputs
    throughput: Throughput
    yields: YieldsFound
    oil: OilAccount
    oil_worth: OilWorth | None
    """None where the plant states no price of oil."""
    water: WaterAccount
    solvent: SolventFound
    toaster: Toaster
    dryer: Dryer
    cooler: Cooler
    stages: Mapping[str, Stage]
    """`first_stage` and `second_stage` of evaporation."""
    extractor: ExtractorFound
    meal: MealFound
    reconciliation: PlantReconciliation
    lacks: Mapping[str, str]
    """Figures that could not be told, by name, and why."""

    @property
    def has_enough(self) -> bool:
        """True where the beans are counted: without them hardly anything can be said."""
        return self.inputs["beans"].is_known


def accounts_of(inputs: AccountInputs) -> Accounts:
    """Work out every account of a period.

    Where counters or readings tell of too little of it, the figures that need them have no value
    (`account_inputs` states the rule).
    """
    oil, toaster = parts.oil_of(inputs), parts.toaster_of(inputs)
    return Accounts(
        inputs=inputs,
        throughput=throughput_of(inputs),
        yields=parts.yields_of(inputs),
        oil=oil,
        oil_worth=parts.oil_worth_of(inputs, oil),
        water=parts.water_of(inputs, toaster),
        solvent=solvent_of(inputs),
        toaster=toaster,
        dryer=parts.dryer_of(inputs),
        cooler=parts.cooler_of(inputs),
        stages=parts.stages_of(inputs),
        extractor=parts.extractor_of(inputs),
        meal=parts.meal_of(inputs),
        reconciliation=reconcile_plant(inputs.roles, in_process_sigma=in_process_sigma(inputs)),
        lacks={
            one.name: one.note or f"missing: {', '.join(one.missing)}"
            for one in inputs.roles.values()
            if not one.is_known
        },
    )


def throughput_of(inputs: AccountInputs) -> Throughput:
    """What the bean counter says, against plan, nominal rate and the stops of the line."""
    role, plan = ROLES["beans"], inputs.plant.accounts.figures.get("plan")
    percent = inputs.plant.accounts.uncertainty.get(next(iter(inputs["beans"].inputs), ""))
    return throughput(
        inputs.track or NO_TRACK,
        inputs.start.timestamp(),
        inputs.end.timestamp(),
        nominal_tph=nominal_tonnes_per_hour(inputs.plant),
        plan_t=None if plan is None else plan * inputs.days,
        stops=stops_of(inputs),
        meter_percent=100.0 * role.accuracy if percent is None else percent,
        time_sigma_s=60.0 * role.clock,
    )


def stops_of(inputs: AccountInputs) -> tuple[Stop, ...]:
    """Stops of the plant and of areas that the beans pass, as the arithmetic wants them."""
    line = line_areas(inputs.plant)
    return tuple(
        Stop(
            one.start.timestamp(),
            (one.end or inputs.end).timestamp(),
            one.reason or f"{one.name} down",
        )
        for one in inputs.downtimes
        if one.scope == "plant" or (one.scope == "area" and one.target in line)
    )


def in_process_sigma(inputs: AccountInputs) -> float:
    """Uncertainty of what the vessels gained or lost, t; none far from any stop."""
    ends = (inputs.start.timestamp(), inputs.end.timestamp())
    near = NEAR_STOP_H * 3600.0
    touched = any(
        one.start_s - near <= at <= one.end_s + near for one in stops_of(inputs) for at in ends
    )
    return IN_PROCESS_T if touched else 0.0


NO_TRACK = track([], [])
"""Of a counter without readings."""
