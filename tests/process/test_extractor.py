"""Tests of the extractor: prediction, calibration, what-if."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.process.extractor import (
    ExtractorError,
    ExtractorState,
    calibrate,
    drainage_pct,
    predict_extraction,
    residual_oil_dry_pct,
    solvent_ratio,
    what_if,
)


@st.composite
def states(draw) -> ExtractorState:
    """An extractor as one may run: 0.8 to 1.4 kg of solvent per kg of flakes."""
    flakes = draw(st.floats(20.0, 120.0))
    return ExtractorState(
        flakes_t_h=flakes,
        oil_pct=draw(st.floats(15.0, 23.0)),
        moisture_pct=draw(st.floats(8.0, 12.0)),
        solvent_t_h=flakes * draw(st.floats(0.8, 1.4)),
        drainage_pct=draw(st.floats(22.0, 38.0)),
        stages=draw(st.integers(3, 9)),
        efficiency=draw(st.floats(0.4, 1.0)),
    )


def plant(**other) -> ExtractorState:
    """A plant of 1,500 t a day."""
    usual = {"flakes_t_h": 57.8, "oil_pct": 20.0, "moisture_pct": 10.0, "solvent_t_h": 51.8}
    return ExtractorState(**(usual | other))


@given(states())
def test_everything_that_enters_leaves(state):
    """Total mass, and oil: miscella and spent flakes against flakes and solvent."""
    told = predict_extraction(state)
    assert told.miscella.value + told.spent_flakes.value == pytest.approx(
        state.flakes_t_h + state.solvent_t_h, rel=1e-9
    )
    oil = told.miscella.value * told.miscella_oil.value / 100 + told.oil_lost.value
    assert oil == pytest.approx(state.flakes_t_h * state.oil_pct / 100, rel=1e-9)
    assert told.recovery.value == pytest.approx(
        100 * (1 - told.oil_lost.value / (state.flakes_t_h * state.oil_pct / 100)), rel=1e-9
    )


@given(states())
def test_the_drainage_is_what_the_spent_flakes_hold(state):
    """Solution in the wet flakes by definition; solvent is a little less, by its oil."""
    told = predict_extraction(state)
    oil = 100 * told.oil_lost.value / told.spent_flakes.value
    assert told.spent_solvent.value + oil == pytest.approx(state.drainage_pct, rel=1e-9)


@given(states())
def test_the_two_bases_of_residual_oil_agree(state):
    """Dry and with the flakes' water it is the same oil."""
    told = predict_extraction(state)
    oil = told.oil_lost.value
    solids = state.flakes_t_h * (100 - state.oil_pct - state.moisture_pct) / 100
    water = state.flakes_t_h * state.moisture_pct / 100
    assert told.residual_oil_dry.value == pytest.approx(100 * oil / (solids + oil), rel=1e-9)
    assert told.residual_oil.value == pytest.approx(100 * oil / (solids + oil + water), rel=1e-9)


@given(state=states(), measured=st.floats(0.3, 2.0))
def test_calibration_meets_the_measured_residual_oil(state, measured):
    """The fitted state leaves it, or the message says in which range it could."""
    if residual_oil_dry_pct(replace(state, efficiency=1.0)) > measured:
        with pytest.raises(ExtractorError, match="Look at solvent, drainage"):
            calibrate(state, measured)
        return
    fitted = calibrate(state, measured)
    assert residual_oil_dry_pct(fitted) == pytest.approx(measured, rel=1e-6)
    assert replace(fitted, efficiency=state.efficiency) == state


@given(states())
def test_each_lever_moves_the_residual_oil_its_way(state):
    """More solvent, a stage more and flakes that drain better leave less."""
    now = residual_oil_dry_pct(state)
    assert residual_oil_dry_pct(replace(state, solvent_t_h=state.solvent_t_h * 1.05)) < now
    assert residual_oil_dry_pct(replace(state, stages=state.stages + 1)) < now
    assert residual_oil_dry_pct(replace(state, drainage_pct=state.drainage_pct - 2)) < now


def test_a_what_if_puts_both_states_side_by_side():
    """By ratio: what changed, less residual oil, weaker miscella, more oil won."""
    fitted = calibrate(plant(), 0.70)
    told = what_if(fitted, ratio=1.0)
    assert told.changed == (("solvent_t_h", 51.8, 57.8),)
    assert told.before.residual_oil_dry.value == pytest.approx(0.70)
    assert told.residual_change < 0
    assert told.after.miscella_oil.value < told.before.miscella_oil.value
    assert told.oil_gained_t_h == pytest.approx(
        told.before.oil_lost.value - told.after.oil_lost.value
    )
    assert told.after.ratio.value == pytest.approx(1.0)
    assert told.assumed


def test_a_what_if_of_several_fields():
    """The ratio holds for the flakes as changed; stages are whole."""
    told = what_if(plant(), flakes_t_h=60.0, ratio=0.9, stages=7.0, drainage_pct=28.0)
    changed = {name: after for name, _, after in told.changed}
    assert changed == pytest.approx(
        {"flakes_t_h": 60.0, "solvent_t_h": 54.0, "stages": 7.0, "drainage_pct": 28.0}
    )


def test_a_what_if_without_change_changes_nothing():
    """Both sides are the same."""
    told = what_if(plant())
    assert told.changed == ()
    assert told.residual_change == 0.0
    assert told.before == told.after


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"speed": 1.0}, "no 'speed'"),
        ({"ratio": 1.0, "solvent_t_h": 50.0}, "not both"),
        ({"stages": 6.5}, "whole number"),
        ({"ratio": 0.1}, "No extract is left"),
        ({"oil_pct": 95.0}, "no solids are left"),
        ({"solvent_t_h": -1.0}, "solvent_t_h is -1"),
        ({"drainage_pct": 100.0}, "between 0 and 100"),
        ({"drainage_pct": 0.0}, "above 0 %"),
    ],
)
def test_a_what_if_that_cannot_be_is_refused_in_words(changes, said):
    """The sentence says what to change."""
    with pytest.raises(ExtractorError, match=said):
        what_if(plant(), **changes)


def test_the_ratio_needs_flakes():
    """An empty extractor has none."""
    assert solvent_ratio(50.0, 100.0) == 0.5
    with pytest.raises(ExtractorError, match="without flakes"):
        solvent_ratio(50.0, 0.0)


def test_uncertainties_of_the_state_reach_the_figures():
    """1 % of solvent is 1 % of the ratio; a field without uncertainty counts as exact."""
    told = predict_extraction(plant(), {"solvent_t_h": 0.518})
    assert told.ratio.sigma == pytest.approx(0.01 * told.ratio.value, rel=1e-6)
    assert told.residual_oil_dry.sigma > 0
    both = predict_extraction(plant(), {"solvent_t_h": 0.518, "drainage_pct": 1.0})
    assert both.residual_oil_dry.sigma > told.residual_oil_dry.sigma
    at_the_end = predict_extraction(plant(), {"efficiency": 0.05})
    assert at_the_end.residual_oil_dry.sigma > 0


def test_without_uncertainties_none_is_told():
    """And an unknown field is refused."""
    assert predict_extraction(plant()).miscella.sigma is None
    with pytest.raises(ExtractorError, match="'stages'"):
        predict_extraction(plant(), {"stages": 1.0})


def test_a_measured_oil_below_ideal_stages_says_so():
    """The state is then wrong, not the efficiency."""
    with pytest.raises(ExtractorError, match="less than ideal stages leave"):
        calibrate(plant(stages=2), 0.1)


def test_oil_in_the_solvent_comes_back_as_residual_oil():
    """Recovered solvent that is not clean costs oil in the flakes."""
    assert residual_oil_dry_pct(plant(solvent_oil_pct=0.5)) > residual_oil_dry_pct(plant())


@given(solvent=st.floats(25.0, 35.0), measured=st.floats(0.5, 1.5))
def test_calibration_meets_the_measured_solvent_in_spent_flakes_too(solvent, measured):
    """Both measured figures of the spent flakes come out of the fitted state."""
    told = predict_extraction(calibrate(plant(), measured, spent_solvent_pct=solvent))
    assert told.spent_solvent.value == pytest.approx(solvent, rel=1e-6)
    assert told.residual_oil_dry.value == pytest.approx(measured, rel=1e-6)


def test_solvent_in_spent_flakes_that_cannot_be_is_refused():
    """A hundred per cent leaves no flakes."""
    with pytest.raises(ExtractorError, match="0 to 100"):
        drainage_pct(plant(), 100.0, 0.7)
