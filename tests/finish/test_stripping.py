"""Strip or not, and with what: the trade's reasons, the table of strippers, and what the owner has tried."""

from __future__ import annotations

import pytest
from tests.finish.painted import KNOWN, by_id, plan_of, verdicts

from carwright.finish.steps import Window
from carwright.problems import InputError

HEAVY = 'old_coat = "heavy"\nplastic = "polystyrene"\nglued = []\n'


@pytest.mark.parametrize(
    ("lines", "verdict", "reason"),
    [
        ('old_coat = "none"', "bare", ""),
        (KNOWN, "keep", ""),
        (KNOWN.replace("even", "heavy"), "strip", "heavy"),
        (KNOWN.replace("even", "uneven"), "strip", "uneven"),
        (KNOWN.replace('"grey"', '"black"') + 'scheme = "sides white"', "strip", "cover"),
        (KNOWN.replace("glue_to = []", 'glue_to = ["roof walk"]'), "strip", "glue"),
        (KNOWN.replace('"lacquer"', '"enamel"'), "strip", "family"),  # the primer is a lacquer: it lifts enamel
        (KNOWN.replace('"lacquer"', '"enamel"') + "barrier = true", "keep", ""),
    ],
)
def test_the_trades_reasons(lines: str, verdict: str, reason: str) -> None:
    """Heavy, uneven, not to be covered, glue on bare plastic, primer that lifts it (common practice): strip."""
    strip = plan_of(lines).strip
    assert strip.verdict == verdict
    assert [each.id for each in strip.reasons if each.strips] == ([reason] if reason else [])
    assert strip.needs == ()


@pytest.mark.parametrize(
    ("line", "need"),
    [
        ('old_coat = "even"', "finish.old_coat"),
        ('old_colour = "grey"', "finish.old_colour"),
        ('old_family = "lacquer"', "finish.old_family"),
        ("glue_to = []", "finish.glue_to"),
    ],
)
def test_what_is_not_known_is_tested_first(line: str, need: str) -> None:
    """With one fact missing the answer is unknown, names the key, and the first act is a test on a hidden spot."""
    made = plan_of(KNOWN.replace(line, ""))
    assert (made.strip.verdict, made.strip.needs) == ("unknown", (need,))
    assert made.steps[0].act == "hold"
    assert verdicts(made)["strip_or_not"] == "unknown"


def test_the_ladder_begins_with_the_mildest() -> None:
    """On polystyrene: household cleaner, then the alcohols of which the table says ok, then what is to be watched."""
    ladder = plan_of(HEAVY).strip.ladder
    assert [each.agent for each in ladder if each.status in ("next", "later")] == [
        "alkaline_household_cleaner",
        "isopropyl_alcohol_70_to_91",
        "ethanol_denatured",
        "mineral_spirits",
        "isopropyl_alcohol_99",
        "glycol_ether_hydraulic_fluid",
    ]
    assert [each.agent for each in ladder if each.status == "unfit"] == [
        "lacquer_thinner_acetone_mek_dichloromethane_toluene"
    ]


def test_an_unknown_plastic_gets_only_what_all_stand() -> None:
    """Without the plastic's name one stripper is left, and that the plastic is unknown is told."""
    made = plan_of('old_coat = "heavy"')
    assert [each.agent for each in made.strip.ladder if each.status != "unfit"] == ["alkaline_household_cleaner"]
    assert verdicts(made)["plastic"] == "unknown"
    same = plan_of('old_coat = "heavy"\nplastic = "unknown"')
    assert [each.status for each in same.strip.ladder] == [each.status for each in made.strip.ladder]


def test_a_bath_has_a_late_edge() -> None:
    """Alcohol on ABS: looked at after half an hour, out after 2 h at the earliest and 48 h at the latest (data)."""
    steps = by_id(
        plan_of(
            'old_coat = "heavy"\nplastic = "abs"\nold_family = "acrylic"\n'
            '[[finish.log]]\nagent = "alkaline"\nresult = "failed"'
        )
    )
    assert steps["try"].title.endswith("on a hidden spot")
    assert "isopropyl alcohol 70 to 91" in steps["bath"].title
    assert steps["bath"].waits[0].windows == (Window(30),)
    assert steps["rinse"].waits[0].windows == (Window(120, 2880),)
    assert "45 °C" in steps["bath"].title


def test_what_was_tried_is_used() -> None:
    """What failed is skipped, what worked is taken for as long as it took, and nobody tests it again."""
    log = '[[finish.log]]\nagent = "{}"\nresult = "{}"\nminutes = 90\n'
    failed = plan_of(HEAVY + log.format("alkaline household cleaner", "failed")).strip
    assert failed.rung is not None
    assert failed.rung.agent == "isopropyl_alcohol_70_to_91"
    worked = plan_of(HEAVY + log.format("Ethanol denatured", "worked") + log.format("alkaline", "attacked"))
    assert worked.strip.rung is not None
    assert (worked.strip.rung.agent, worked.strip.rung.opens.value) == ("ethanol_denatured", 90)
    assert [each.id for each in worked.steps][:2] == ["bath", "rinse"]
    with pytest.raises(InputError, match=r"finish.log\[0\].agent"):
        plan_of(HEAVY + log.format("paint eater", "worked"))


def test_what_a_bath_does_to_parts_and_joints() -> None:
    """Parts fitted already are told with a mend; a stripper that keeps a joint is taken before one that loosens it."""
    made = plan_of(HEAVY + 'fitted = ["grab irons"]')
    found = next(each for each in made.findings if each.check == "fitted_before_stripping")
    assert "Take grab irons off first" in found.mend
    glued = plan_of(HEAVY.replace("[]", '["ca"]'))
    assert glued.strip.rung is not None
    assert glued.strip.rung.agent == "isopropyl_alcohol_70_to_91"
    assert "ca_joints" not in verdicts(glued)
    only = plan_of(HEAVY.replace("[]", '["white glue"]') + '[[finish.log]]\nagent = "alkaline"\nresult = "worked"')
    assert verdicts(only)["white_glue_joints"] == "watch"
    assert verdicts(plan_of('old_coat = "heavy"'))["glued_joints"] == "unknown"
    with pytest.raises(InputError, match="Did you mean ca"):
        plan_of(HEAVY.replace("[]", '["caa"]'))


def test_parts_are_glued_on_before_the_primer() -> None:
    """What has to be glued to bare plastic is glued on between stripping and washing."""
    acts = [each.id for each in plan_of(HEAVY + 'glue_to = ["roof walk"]').steps]
    assert acts[:6] == ["try", "bath", "rinse", "fit", "wash", "prime"]


def test_cautions_follow_the_paint_and_the_old_coat() -> None:
    """Two-part paint brings isocyanates, old paint lead; acrylics on bare plastic bring neither, but a respirator."""
    old = [each.id for each in plan_of(HEAVY, {"grey": "two-part"}).cautions]
    assert {"isocyanate", "lead_paint", "skin_and_eyes", "spray_booth_ignition", "solvent_vapour"} <= set(old)
    acrylics = dict.fromkeys(("grey", "black", "primer", "gloss", "flat"), "acrylic")
    bare = [each.id for each in plan_of('old_coat = "none"', acrylics).cautions]
    assert not {"isocyanate", "lead_paint", "solvent_vapour"} & set(bare)
    assert {"spray_mist", "spray_booth_ignition"} <= set(bare)
