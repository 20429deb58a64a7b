"""What is added to a claim until it ends: its cause, the answer to the owner, its closing; taken back, and opened again."""

from __future__ import annotations

from inventory.domain.errors import DomainError
from inventory.models import Act, Person
from inventory.services import lookup
from inventory.services.run import Body, Done, Stamp, run
from kits.domain.owner_claims import (
    ANSWERS,
    CLOSED,
    OPENED_AGAIN,
    TAKEN_BACK,
    check_closing,
    check_end,
    check_instead,
)
from kits.models import ClaimAnswer, ClaimCause, ClaimEnd
from kits.services.claim_rules import claim_by_id, open_claim, standing_answer, standing_cause, state_now


def state_cause(
    *,
    actor: Person,
    stamp: Stamp,
    claim: int,
    cause: str,
    found_by: str,
    evidence: str,
    oil_sample: str = "",
    coolant_sample: str = "",
    instead_of: int | None = None,
) -> Done:
    """State why it failed. One cause counts at a time: a later one names the one that it takes the place of, and both stay to be read.

    found_by    who found it: a log-in, a laboratory; evidence: what it rests on
    oil_sample, coolant_sample   numbers of samples, "" for none
    instead_of  id of the cause that stands; None where there is none

    Outcome: {"claim", "cause": its id, "instead_of"}. Raises DomainError "not-found", "claim-ended", "nothing-given", "claim-entry-stands".
    """
    said = {"cause": cause, "found_by": found_by, "evidence": evidence}
    samples = {"oil_sample": oil_sample.strip(), "coolant_sample": coolant_sample.strip()}

    def work(act: Act) -> Body:
        row = open_claim(claim)
        for name, text in said.items():
            if not text.strip():
                raise DomainError("nothing-given", f"A cause says {name.replace('_', ' ')}.", field=name)
        standing = standing_cause(row)
        check_instead(row.pk, "cause", standing.pk if standing else None, instead_of)
        words = {name: text.strip() for name, text in said.items()}
        made = ClaimCause.objects.create(claim=row, act=act, instead_of=standing, **words, **samples)
        return {"claim": row.pk, "cause": made.pk, "instead_of": instead_of}

    request = {"claim": claim, **said, **samples, "instead_of": instead_of}
    return run("state cause", work, actor=actor, stamp=stamp, request=request, subject=str(claim))


def answer_claim(
    *, actor: Person, stamp: Stamp, claim: int, answer: str, reason: str, instead_of: int | None = None
) -> Done:
    """What the owner is told: accepted, refused or part, with the reason. A later answer names the one that it takes the place of.

    Outcome: {"claim", "answer": its id, "said", "instead_of"}.
    Raises DomainError "not-found", "claim-ended", "nothing-given", "reason-missing", "claim-entry-stands".
    """

    def work(act: Act) -> Body:
        row = open_claim(claim)
        if answer not in ANSWERS:
            raise DomainError("nothing-given", f"{answer[:40]!r} is none of {', '.join(ANSWERS)}.", field="answer")
        lookup.need_reason(reason, f"Why is claim {claim} answered so?")
        standing = standing_answer(row)
        check_instead(row.pk, "answer", standing.pk if standing else None, instead_of)
        made = ClaimAnswer.objects.create(claim=row, act=act, instead_of=standing, answer=answer, reason=reason.strip())
        return {"claim": row.pk, "answer": made.pk, "said": answer, "instead_of": instead_of}

    request = {"claim": claim, "answer": answer, "reason": reason, "instead_of": instead_of}
    return run("answer claim", work, actor=actor, stamp=stamp, request=request, subject=str(claim), reason=reason)


def close_claim(*, actor: Person, stamp: Stamp, claim: int) -> Done:
    """Close a claim, with the cause and the answer that stand.

    Outcome: {"claim", "state", "cause", "answer": ids, "said": the answer}.
    Raises DomainError "not-found", "claim-ended", "claim-cause-missing", "claim-answer-missing".
    """

    def work(act: Act) -> Body:
        row = claim_by_id(claim)
        check_end(row.pk, state_now(row), CLOSED)
        cause, answer = standing_cause(row), standing_answer(row)
        check_closing(row.pk, int(cause is not None), int(answer is not None))
        ClaimEnd.objects.create(claim=row, act=act, what=CLOSED, cause=cause, answer=answer)
        return {
            "claim": row.pk,
            "state": CLOSED,
            "cause": cause.pk if cause else None,
            "answer": answer.pk if answer else None,
            "said": answer.answer if answer else "",
        }

    return run("close claim", work, actor=actor, stamp=stamp, request={"claim": claim}, subject=str(claim))


def take_claim_back(*, actor: Person, stamp: Stamp, claim: int, reason: str) -> Done:
    """The claim is none: its owner gave it up, or it was entered wrongly. It stays on record with the reason.

    Outcome: {"claim", "state", "reason"}. Raises DomainError "not-found", "claim-ended", "reason-missing".
    """
    request = {"claim": claim, "reason": reason}
    return run(
        "take claim back",
        lambda act: _ended(act, claim, TAKEN_BACK, reason, f"Why is claim {claim} taken back?"),
        actor=actor, stamp=stamp, request=request, subject=str(claim), reason=reason,
    )  # fmt: skip


def open_claim_again(*, actor: Person, stamp: Stamp, claim: int, reason: str) -> Done:
    """A claim that was closed or taken back is open again: its cause and answer stand until others take their place.

    Outcome: {"claim", "state", "reason"}. Raises DomainError "not-found", "claim-open", "reason-missing".
    """
    request = {"claim": claim, "reason": reason}
    return run(
        "open claim again",
        lambda act: _ended(act, claim, OPENED_AGAIN, reason, f"Why is claim {claim} opened again?"),
        actor=actor, stamp=stamp, request=request, subject=str(claim), reason=reason,
    )  # fmt: skip


def _ended(act: Act, claim: int, what: str, reason: str, question: str) -> Body:
    row = claim_by_id(claim)
    lookup.need_reason(reason, question)
    check_end(row.pk, state_now(row), what)
    ClaimEnd.objects.create(claim=row, act=act, what=what, reason=reason.strip())
    return {"claim": row.pk, "state": state_now(row), "reason": reason.strip()}
