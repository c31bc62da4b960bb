"""Tests of the compliance ratio over operating months."""

import math
from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.process.solvent import (
    CAUTION,
    OILSEEDS,
    Source,
    Uncertainty,
    allowed_loss,
    baseline_loss,
    compliance,
    compliance_ratio,
    compliance_trend,
    is_within,
    weighted_hap,
)
from logbook.process.solvent_months import (
    Delivery,
    SolventMonth,
    SolventPeriod,
    Status,
    plain_month,
)

TONS = st.floats(1.0, 1e6)
LOSS = st.floats(1.0, 1e6)
SHARE = st.floats(0.01, 1.0)
SEED = st.dictionaries(st.sampled_from(sorted(OILSEEDS)), TONS, min_size=1)


def month_of(number: int, **other) -> SolventMonth:
    """A plain month, counted from January 2025: 6,000 gal lost, 40,000 tons, 6,000 gal received."""
    first = date(2025 + number // 12, number % 12 + 1, 1)
    given_ = {
        "start_gal": 30_000.0,
        "end_gal": 30_000.0,
        "seed_tons": {"soybean": 40_000.0},
        "deliveries": (Delivery(on=first + timedelta(days=9), gal=6_000.0, hap_fraction=0.64),),
    }
    return plain_month(first, **(given_ | other))


def period(status: Status, first: date, last: date, **other) -> SolventPeriod:
    """A period with full inventories."""
    return SolventPeriod(
        status=status, first=first, last=last, **({"start_gal": 1e4, "end_gal": 1e4} | other)
    )


def idle(number: int, status: Status = Status.NONOPERATING, **other) -> SolventMonth:
    """A month in which nothing ran normally."""
    like = month_of(number)
    whole = like.periods[0]
    return replace(
        like,
        periods=(replace(whole, status=status, **({"seed_tons": {}} | other)),),
        deliveries=(),
    )


# -- the equations --------------------------------------------------------------------------


@given(loss=LOSS, seed=SEED, f=SHARE, times=st.floats(0.1, 10.0))
def test_the_ratio_scales_with_loss_and_falls_with_seed(loss, seed, f, times):
    """Equation 2 is linear in the loss and in the fraction, and inverse in the seed."""
    ratio = compliance_ratio(loss, seed, f)
    more = {kind: tons * times for kind, tons in seed.items()}
    assert compliance_ratio(loss * times, seed, f) == pytest.approx(ratio * times, rel=1e-12)
    assert compliance_ratio(loss, more, f) == pytest.approx(ratio / times, rel=1e-12)


@given(seed=SEED, f=SHARE, source=st.sampled_from(Source))
def test_the_allowed_loss_has_a_ratio_of_one(seed, f, source):
    """Losing what is allowed gives 1.00, which counts as in compliance in spite of rounding."""
    ratio = compliance_ratio(allowed_loss(seed, f, source=source), seed, f, source=source)
    assert ratio == pytest.approx(1.0, rel=1e-12)
    assert is_within(ratio)


@given(seed=SEED)
def test_a_new_source_is_never_allowed_more(seed):
    """As remembered, no factor of a new source lies above that of an existing one."""
    assert baseline_loss(seed, source=Source.NEW) <= baseline_loss(seed)


def test_the_callers_factors_take_the_place_of_the_table():
    """With factors read in the rule nothing remembered is used; a missing one is named."""
    assert baseline_loss({"soya": 10.0}, factors={"soya": 0.3}) == pytest.approx(3.0)
    with pytest.raises(ValueError, match="'soybean'; known are soya"):
        baseline_loss({"soybean": 10.0}, factors={"soya": 0.3})
    with pytest.raises(ValueError, match="above 0"):
        baseline_loss({"soya": 10.0}, factors={"soya": 0.0})


@pytest.mark.parametrize(
    ("loss", "tons", "f", "said"),
    [
        (1.0, 0.0, 0.6, "No oilseed"),
        (math.nan, 1.0, 0.6, "not a number"),
        (1.0, -1.0, 0.6, "-1 tons"),
        (1.0, 1.0, 64.0, "not per cent"),
        (1.0, 1.0, math.nan, "HAP volume fraction"),
    ],
)
def test_what_cannot_be_is_refused_in_words(loss, tons, f, said):
    """No seed, no number, tons below zero, per cent for a fraction."""
    with pytest.raises(ValueError, match=said):
        compliance_ratio(loss, {"soybean": tons}, f)


def test_solvent_without_hap_has_no_bound():
    """Nothing is lost that the rule limits."""
    assert allowed_loss({"soybean": 1.0}, 0.0) == math.inf
    assert compliance_ratio(1e6, {"soybean": 1.0}, 0.0) == 0.0


# -- the HAP fraction -----------------------------------------------------------------------


@given(st.lists(st.tuples(st.floats(1.0, 1e5), SHARE), min_size=1, max_size=9))
def test_the_fraction_is_weighted_by_volume(received):
    """It lies between the least and the greatest, and is the share of HAP gallons in all."""
    told = weighted_hap([Delivery(on=date(2026, 1, 1), gal=g, hap_fraction=f) for g, f in received])
    hap = sum(g * f for g, f in received)
    assert told.value == pytest.approx(hap / sum(g for g, _ in received), rel=1e-12)
    shares = [f for _, f in received]
    assert min(shares) - 1e-12 <= told.value <= max(shares) + 1e-12


def test_a_delivery_without_hap_content_is_named():
    """No fraction is made up for it."""
    told = weighted_hap([Delivery(on=date(2026, 3, 7), gal=6_000.0)])
    assert told.value is None
    assert told.missing == ("HAP content of the delivery of 2026-03-07",)


def test_without_a_delivery_there_is_no_fraction():
    """A year in which no solvent was received has none to weigh."""
    assert "no solvent received" in weighted_hap([]).note


# -- months ---------------------------------------------------------------------------------


def test_twelve_plain_months_give_the_ratio_of_their_sums():
    """12 x 6,000 gal at 0.64 over 0.64 x 12 x 40,000 t x 0.2."""
    told = compliance([month_of(n) for n in range(12)])
    assert told.ratio.value == pytest.approx(6_000 / 8_000, rel=1e-12)
    assert told.loss.value == 72_000.0
    assert told.allowed.value == pytest.approx(96_000.0)
    assert told.seed.value == 480_000.0
    assert told.within is True
    assert told.months_wanting == 0
    assert CAUTION in told.ratio.note
    assert "from memory" in told.ratio.note
    assert "63.2840(a)(2)" in told.ratio.source


def test_the_note_on_memory_goes_when_factors_are_given():
    """Factors read in the rule are the caller's word; the caution stays."""
    told = compliance([month_of(n) for n in range(12)], factors={"soybean": 0.2})
    assert "memory" not in told.ratio.note
    assert CAUTION in told.ratio.note


def test_only_the_last_twelve_operating_months_count():
    """A bad month drops out after twelve more."""
    bad = month_of(0, end_gal=0.0)
    told = compliance([bad, *(month_of(n) for n in range(1, 13))])
    assert told.months[0] == date(2025, 2, 1)
    assert told.loss.value == 72_000.0


def test_fewer_months_give_no_ratio_and_say_how_many_are_missing():
    """The ratio so far stands beside it, under another name."""
    told = compliance([month_of(n) for n in range(9)])
    assert told.ratio.value is None
    assert told.ratio.missing == ("3 of 12 operating months",)
    assert "3 operating months are missing" in told.ratio.note
    assert told.within is None
    assert told.months_wanting == 3
    assert told.so_far.value == pytest.approx(0.75)
    assert told.so_far.name == "ratio so far"


def test_no_month_at_all_is_told_not_raised():
    """An empty book has no ratio, twelve months short."""
    told = compliance([])
    assert told.ratio.value is None
    assert told.months_wanting == 12
    assert told.loss.value is None


def test_a_month_without_seed_is_no_operating_month():
    """The window reaches back over it; its reason is told."""
    told = compliance(
        [*(month_of(n) for n in range(6)), idle(6), *(month_of(n) for n in range(7, 13))]
    )
    assert told.months_wanting == 0
    assert told.left_out == ((date(2025, 7, 1), "no listed oilseed processed"),)
    assert date(2025, 7, 1) not in told.months


@pytest.mark.parametrize(
    ("status", "why"),
    [
        (Status.INITIAL_STARTUP, "no normal operating period (initial startup)"),
        (Status.EXEMPT, "no normal operating period (exempt)"),
    ],
)
def test_a_whole_month_of_initial_startup_is_left_out(status, why):
    """63.2872: an entire month under an initial startup is no operating month."""
    one = idle(3, status, seed_tons={"soybean": 9.0})
    assert one.left_out_because() == why


def test_a_month_of_malfunction_counts_since_the_amendment():
    """Before 15 September 2020 the entire month is left out; since then it is an operating month."""
    seed = {"soybean": 100.0}
    old = SolventMonth(
        month=date(2020, 8, 1),
        periods=(period(Status.MALFUNCTION, date(2020, 8, 1), date(2020, 8, 31), seed_tons=seed),),
    )
    assert "malfunction" in old.left_out_because()
    assert idle(3, Status.MALFUNCTION, seed_tons=seed).left_out_because() == ""


def test_a_malfunction_over_the_day_of_the_amendment_is_to_be_split():
    """Its inventories cannot be divided by the program."""
    over = period(Status.MALFUNCTION, date(2020, 9, 10), date(2020, 9, 20))
    with pytest.raises(ValueError, match="split it at that day"):
        _ = over.counts


def test_only_normal_periods_of_a_mixed_month_count():
    """Loss, seed and receipts of a standstill inside the month stay out of the sums."""
    mixed = SolventMonth(
        month=date(2026, 4, 1),
        periods=(
            period(
                Status.NORMAL,
                date(2026, 4, 1),
                date(2026, 4, 10),
                start_gal=20_000.0,
                end_gal=18_000.0,
                seed_tons={"soybean": 13_000.0},
            ),
            period(
                Status.NONOPERATING,
                date(2026, 4, 11),
                date(2026, 4, 20),
                start_gal=18_000.0,
                end_gal=20_500.0,
            ),
            period(
                Status.NORMAL,
                date(2026, 4, 21),
                date(2026, 4, 30),
                start_gal=20_500.0,
                end_gal=24_500.0,
                adjustment_gal=-100.0,
                adjustment_reason="burnt in the flare, by its log",
                seed_tons={"soybean": 13_500.0},
            ),
        ),
        deliveries=(
            Delivery(on=date(2026, 4, 15), gal=3_000.0, hap_fraction=0.6),
            Delivery(on=date(2026, 4, 21), gal=6_000.0, hap_fraction=0.6),
        ),
    )
    assert mixed.loss_gal() == pytest.approx(2_000.0 + (20_500 - 24_500 + 6_000 - 100))
    assert mixed.seed_tons() == {"soybean": 26_500.0}


def test_deliveries_of_a_month_left_out_count_in_the_next_fraction():
    """63.2854(a): since the end of the previous operating month. Their gallons do not count."""
    still = replace(
        idle(6), deliveries=(Delivery(on=date(2025, 7, 9), gal=36_000.0, hap_fraction=0.40),)
    )
    told = compliance(
        [*(month_of(n) for n in range(6)), still, *(month_of(n) for n in range(7, 13))]
    )
    assert told.hap_fraction.value == pytest.approx((12 * 6_000 * 0.64 + 36_000 * 0.40) / 108_000)
    assert told.loss.value == 72_000.0


def test_a_delivery_before_the_window_does_not_count_in_the_fraction():
    """What was received in an operating month outside the window is outside."""
    early = month_of(0, deliveries=(Delivery(on=date(2025, 1, 9), gal=6_000.0, hap_fraction=0.1),))
    told = compliance([early, *(month_of(n) for n in range(1, 13))])
    assert told.hap_fraction.value == pytest.approx(0.64)


def test_a_missing_inventory_is_named():
    """No loss is guessed for a month whose stock was not taken."""
    months = [month_of(n) for n in range(12)]
    months[5] = month_of(5, end_gal=None)
    told = compliance(months)
    assert told.ratio.value is None
    assert told.ratio.missing == ("solvent inventory at 2025-07-01",)
    assert told.within is None


def test_a_month_that_is_not_there_is_refused():
    """A gap may hide operation: a month without operation has its record too."""
    with pytest.raises(ValueError, match=r"2025-04 follows on 2025-02"):
        compliance([month_of(1), month_of(3)])


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"adjustment_gal": 5.0}, "needs its reason"),
        ({"start_gal": -1.0}, "amount -1"),
        ({"last": date(2025, 12, 1)}, "ends before it begins"),
        ({"seed_tons": {"soybean": math.inf}}, "amount inf"),
        ({"adjustment_gal": math.nan, "adjustment_reason": "x"}, "not a number"),
    ],
)
def test_a_period_that_cannot_be_is_refused(change, said):
    """Each with a sentence that says what is wrong."""
    good = period(Status.NORMAL, date(2026, 1, 1), date(2026, 1, 31))
    with pytest.raises(ValueError, match=said):
        replace(good, **change)


def test_a_month_whose_periods_leave_a_gap_is_refused():
    """So is one without a period, and a delivery on another day."""
    one = period(Status.NORMAL, date(2026, 1, 1), date(2026, 1, 10))
    other = period(Status.NORMAL, date(2026, 1, 12), date(2026, 1, 31))
    with pytest.raises(ValueError, match="does not follow on"):
        SolventMonth(month=date(2026, 1, 1), periods=(one, other))
    with pytest.raises(ValueError, match="has no period"):
        SolventMonth(month=date(2026, 1, 1), periods=())
    with pytest.raises(ValueError, match="outside the days of 2026-01"):
        SolventMonth(
            month=date(2026, 1, 1),
            periods=(one,),
            deliveries=(Delivery(on=date(2026, 2, 1), gal=1.0),),
        )


def test_a_fraction_in_per_cent_is_refused():
    """64 is no volume fraction."""
    with pytest.raises(ValueError, match="not per cent"):
        Delivery(on=date(2026, 1, 1), gal=1.0, hap_fraction=64.0)


def test_the_seed_of_a_period_cannot_be_changed_afterwards():
    """The record keeps its own copy."""
    seed = {"soybean": 1.0}
    kept = period(Status.NORMAL, date(2026, 1, 1), date(2026, 1, 31), seed_tons=seed)
    seed["soybean"] = 2.0
    assert kept.seed_tons["soybean"] == 1.0


def test_seed_in_a_standstill_only_makes_no_operating_month():
    """Seed entered under the wrong status is not counted, and the reason is told."""
    mixed = SolventMonth(
        month=date(2026, 4, 1),
        periods=(
            period(Status.NORMAL, date(2026, 4, 1), date(2026, 4, 10)),
            period(
                Status.NONOPERATING,
                date(2026, 4, 11),
                date(2026, 4, 30),
                seed_tons={"soybean": 5.0},
            ),
        ),
    )
    assert mixed.left_out_because() == "no listed oilseed processed in a normal operating period"
    assert compliance([mixed]).left_out[0][1] == mixed.left_out_because()


def test_a_month_without_inventory_has_no_loss():
    """None, not nought; what is missing has its day."""
    one = month_of(0, start_gal=None)
    assert one.loss_gal() is None
    assert one.missing() == ("solvent inventory at 2025-01-01",)


def test_the_trend_has_a_ratio_from_the_twelfth_operating_month_on():
    """One entry for each operating month; none for the month that stood still."""
    months = [*(month_of(n) for n in range(6)), idle(6), *(month_of(n) for n in range(7, 15))]
    months[14] = month_of(14, end_gal=26_000.0)
    trend = compliance_trend(months)
    assert len(trend) == 14
    assert date(2025, 7, 1) not in [month for month, _ in trend]
    ratios = [told.ratio.value for _, told in trend]
    assert ratios[:11] == [None] * 11
    assert ratios[11:13] == pytest.approx([0.75, 0.75])
    assert ratios[13] == pytest.approx(0.75 + 4_000 / 96_000)
    assert trend[-1][1] == compliance(months)


# -- uncertainty ----------------------------------------------------------------------------


def test_inventories_shared_by_two_months_drop_out_of_the_uncertainty():
    """Only the first and the last dip of twelve months in a row are left, and the deliveries."""
    told = compliance(
        [month_of(n) for n in range(12)],
        uncertainty=Uncertainty(inventory_gal=200.0, delivery_share=0.0, seed_share=0.0, hap=0.0),
    )
    assert told.loss.sigma == pytest.approx(200.0 * math.sqrt(2))
    assert told.ratio.sigma == pytest.approx(0.75 * told.loss.sigma / 72_000.0, rel=1e-6)


def test_a_break_in_the_stock_brings_its_two_dips_in():
    """A month with inventories of its own counts four dips over the year, and more."""
    months = [month_of(n) for n in range(12)]
    months[5] = month_of(5, start_gal=29_000.0, end_gal=29_000.0)
    told = compliance(months, uncertainty=Uncertainty(inventory_gal=100.0, delivery_share=0.0))
    assert told.loss.sigma == pytest.approx(100.0 * math.sqrt(6))


def test_deliveries_err_independently_and_seed_alike():
    """Twelve trucks of 1 % make 1 % over root twelve; a scale of 0.5 % makes 0.5 %."""
    told = compliance(
        [month_of(n) for n in range(12)],
        uncertainty=Uncertainty(
            inventory_gal=0.0, delivery_share=0.01, seed_share=0.005, hap=0.0064
        ),
    )
    assert told.loss.sigma == pytest.approx(60.0 * math.sqrt(12))
    share = math.sqrt(0.01**2 / 12 + 0.005**2 + 0.01**2)
    assert told.ratio.sigma == pytest.approx(0.75 * share, rel=1e-4)


def test_without_uncertainties_none_is_made_up():
    """The ratio has a value and no interval."""
    told = compliance([month_of(n) for n in range(12)])
    assert told.ratio.sigma is None
    assert told.loss.sigma is None
