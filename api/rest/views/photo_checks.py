"""`jobs/{number}/photo-checks`: a second person's look with a photo."""

from __future__ import annotations

from typing import Any

from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.schema import act
from api.rest.serializers import build as shapes
from api.rest.views.base import View, actor_of
from api.rest.views.jobs import ON_JOB
from kits.services.photo_checks import PhotoIn, record_photo_checks


class JobPhotoChecksView(View):
    """`jobs/{number}/photo-checks`."""

    acts = {"POST": "check"}

    @act(
        "jobs_photo_checks_create",
        "A second person looks with a photo at what was fitted (the grooved half, the thrust face) before it is closed over",
        shapes.PhotoLooksInSerializer,
        shapes.PhotoLooksMadeSerializer,
        refusals=(
            *ON_JOB,
            "check-item-unknown",
            "may-not-check",
            "not-on-duty",
            "nothing-given",
            "photo-missing",
            "position-empty",
            "position-unknown",
            "reason-missing",
            "same-person",
        ),
    )
    def post(self, request: Request, number: str) -> Response:
        """Record."""

        def service(stamp: Any, data: dict[str, Any]) -> Any:
            looks = [PhotoIn(**one) for one in data["looks"]]
            return record_photo_checks(actor=actor_of(request), stamp=stamp, job=number, looks=looks)

        return self.do(request, shapes.PhotoLooksInSerializer, service)
