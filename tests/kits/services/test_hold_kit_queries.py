"""A long list costs as many queries as a short one."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from kits.services.hold_kit import hold_kit
from tests.factories.many_lines import SETS, stocked_job
from tests.factories.stores import PersonFactory, stamp

pytestmark = pytest.mark.django_db

#: Twenty lines or two hundred: explode, allocate and hold, everything between begin and commit. One of them asks
#: what was judged of the sets that stand there, on whatever job: those that fail are not held. Where locks are taken there are four:
#: the key, the job, its engine (whether its owner is asked stays so), and the parts.
QUERIES = {"sqlite": 23, "postgresql": 27}


@pytest.mark.parametrize("lines", [20, 200])
def test_a_hold_takes_the_same_queries_whatever_its_length(lines):
    job = stocked_job(lines)
    actor = PersonFactory()
    with CaptureQueriesContext(connection) as captured:
        body = hold_kit(actor=actor, stamp=stamp(), job=job.number).body
    asked = [one["sql"] for one in captured.captured_queries if "SAVEPOINT" not in one["sql"]]
    assert body["shorts"] == []
    # Five pieces of a part are two of the first lot, two of the second and one of the third.
    assert len(body["held"]) == 3 * (lines - 1) + SETS
    assert len(asked) == QUERIES[connection.vendor], "\n".join(sql[:160] for sql in asked)
    assert len(asked) <= 30
