"""The letter to an owner whose engine is not back for its work after the first run."""

from datetime import date

from kits.domain.letters import SERVICE_CAUTION, LateWork, service_letter

LINES = [LateWork("oil change", date(2025, 2, 14), 1, ("2 EA F-1",)), LateWork("valves", date(2025, 2, 1), 14, ())]


def letter(name="", address=""):
    return service_letter(
        name=name, address=address, engine="P2-0001", family="Two-bore engine", job="J1", run_on=date(2025, 1, 15),
        on=date(2025, 2, 15), lines=LINES,
    )  # fmt: skip


def test_a_letter_names_owner_engine_work_and_the_caution():
    said = letter("A. Nyholm", "Quay 3\nSaltby").splitlines()
    assert said[:7] == [
        "A. Nyholm",
        "Quay 3",
        "Saltby",
        "",
        "2025-02-15",
        "",
        "Engine P2-0001 (Two-bore engine), our job J1",
    ]
    assert said[10:12] == [
        "  - oil change, due by 2025-02-14, one day past", "  - valves, due by 2025-02-01, 14 days past",
    ]  # fmt: skip
    assert said[-1] == SERVICE_CAUTION


def test_nobody_on_record_is_written_to_by_the_engine():
    assert letter().splitlines()[:3] == ["To the owner of engine P2-0001", "", "2025-02-15"]
