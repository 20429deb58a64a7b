"""Looks with a photo by another person, before something closes over what was fitted."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass

from inventory.domain.errors import DomainError, ManyErrors
from inventory.domain.text import shown
from inventory.models import Act, Person
from inventory.queries.days import shop_day
from inventory.services.run import Body, Done, Stamp, run
from kits.domain.photo_checks import PhotoCheck
from kits.models import Fitting, PhotoLook
from kits.queries.documents import family_of
from kits.queries.photo_checks import fitted_at, unseen
from kits.services.checking import must_be_checker
from kits.services.shared import check_positions, open_job, touch


@dataclass(frozen=True, slots=True)
class PhotoIn:
    """What was looked at where, the photo, and whether it was good; a wrong one says in `note` what is wrong."""

    what: str
    position: str
    photo_ref: str
    good: bool = True
    note: str = ""


def record_photo_checks(*, actor: Person, stamp: Stamp, job: str, looks: Sequence[PhotoIn]) -> Done:
    """A second person looks at what was fitted, with a photo; `actor` is never who fitted it. A wrong one stays open until it is fitted
    anew and seen good.

    Raises "nothing-given", ManyErrors "position-unknown", "check-item-unknown" (not asked for there), "position-empty" (nothing was
    fitted there on this job), "same-person", "photo-missing", "reason-missing" (wrong, and not said why); "may-not-check",
    "not-on-duty" for the whole act. Outcome: {"job", "open": [{what, position}]}.
    """

    def work(act: Act) -> Body:
        if not looks:
            raise DomainError("nothing-given", "Nothing was looked at.")
        row = open_job(job)
        must_be_checker(row.site, actor, shop_day(act.occurred_at))
        check_positions(row, [one.position for one in looks])
        checks = family_of(row.family_revision).build.photo_checks
        fitted = fitted_at(row, frozenset(one.position for one in looks))
        errors = tuple(
            (number, why)
            for number, one in enumerate(looks, 1)
            if (why := _refused(one, checks, fitted.get(one.position), actor)) is not None
        )
        if errors:
            raise ManyErrors(errors)
        PhotoLook.objects.bulk_create([PhotoLook(job=row, act=act, **asdict(one)) for one in looks])
        touch(row)
        left = [{"what": check.what, "position": position} for check, position in unseen(row)]
        return {"job": job, "open": left}

    request = {"job": job, "looks": [asdict(one) for one in looks]}
    return run("look with photo", work, actor=actor, stamp=stamp, request=request, subject=job)


def _refused(one: PhotoIn, checks: Sequence[PhotoCheck], fitted: Fitting | None, actor: Person) -> DomainError | None:
    here = [check.what for check in checks if one.position in check.positions]
    if one.what not in here:
        return DomainError(
            "check-item-unknown",
            f"{one.position}: {shown(one.what)} is not asked for there: {', '.join(here) or 'nothing is'}.",
            item=shown(one.what),
            known=here,
        )
    if fitted is None:
        return DomainError("position-empty", f"{one.position}: nothing was fitted on this job.", position=one.position)
    if fitted.fitter_id == actor.pk:
        said = f"{one.position}: {actor} fitted it; another person looks."
        return DomainError("same-person", said, position=one.position)
    if not one.photo_ref.strip():
        return DomainError("photo-missing", f"{one.position}: where is the photo kept?", position=one.position)
    if not one.good and not one.note.strip():
        return DomainError("reason-missing", f"{one.position}: what is wrong with it?", position=one.position)
    return None
