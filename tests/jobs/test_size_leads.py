"""Supply leads of a recorder: a load as power or current, findings. Figures: computed by hand."""

from __future__ import annotations

import pytest

from asfound.calc.supply_leads import Lead
from asfound.errors import UsageError
from asfound.jobs.size_leads import SizeLeads, size_leads


def test_a_load_as_power_and_as_current() -> None:
    # 8 m one way, 1.5 mm2 at 13.3 ohm/km (IEC 60228 class 5): 0.2128 ohm, 5 A lose 1.064 V.
    by_current = size_leads(SizeLeads(24, Lead(8, 1.5), amperes=5))
    assert by_current.load is not None
    assert by_current.load.drop_v == pytest.approx(1.064, rel=0.005)
    assert "4.4%" in by_current.findings[0] and by_current.fuse_a == 7.5
    by_power = size_leads(SizeLeads(24, Lead(8, 1.5), watts=5 * (24 - 1.0667)))
    assert by_power.load is not None and by_power.load.amperes == pytest.approx(5, rel=1e-3)


def test_too_little_arrives_and_too_much_is_asked() -> None:
    low = size_leads(SizeLeads(10, Lead(8, 1.0), watts=40, least_v=9))
    assert any("the recorder needs 9 V" in one for one in low.findings)
    none = size_leads(SizeLeads(12, Lead(30, 0.5), watts=500))
    assert none.load is None and none.usual_mm2 is None
    assert "breaks down" in none.findings[0]
    assert size_leads(SizeLeads(12, Lead(30, 0.5), amperes=50)).load is None
    fine = size_leads(SizeLeads(24, Lead(2, 2.5), watts=20, least_v=9))
    assert fine.findings == ()
    # 20 W at the 9 V from which it works: 2.22 A, a quarter more is 2.78: 3 A. At 24 V: 1.04.
    assert fine.fuse_a == 3 and none.fuse_a is None
    assert size_leads(SizeLeads(24, Lead(2, 2.5), watts=20)).fuse_a == 2


def test_one_load() -> None:
    for watts, amperes in ((None, None), (1.0, 1.0)):
        with pytest.raises(UsageError, match="one of them"):
            size_leads(SizeLeads(12, Lead(1, 1), watts=watts, amperes=amperes))
