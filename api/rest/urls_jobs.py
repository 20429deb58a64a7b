"""Addresses of the rebuild jobs under /api/v1/: acts as sub-resources of the job, of a hold, of a pick list."""

from __future__ import annotations

from django.urls import URLPattern, path

from api.rest.views import (
    dates,
    endings,
    engines,
    findings,
    fittings,
    holds,
    jobs,
    left_over,
    owners,
    pick_lists,
    scope,
    sealing,
    strips,
)


def job_urls() -> list[URLPattern]:
    """The addresses; made when asked for, because they use a converter that the service's own urls register."""
    return [
        path("engines/<str:number>/field-marks", engines.EngineFieldMarksView.as_view()),
        path("owners", owners.OwnersView.as_view()),
        path("owners/<number:owner>", owners.OwnerView.as_view()),
        path("jobs", jobs.JobsView.as_view()),
        path("jobs/<str:number>", jobs.JobView.as_view()),
        path("jobs/<str:number>/list", jobs.JobListView.as_view()),
        path("jobs/<str:number>/shorts", jobs.JobShortsView.as_view()),
        path("jobs/<str:number>/open-lines", jobs.JobOpenLinesView.as_view()),
        path("jobs/<str:number>/startable", jobs.JobStartableView.as_view()),
        path("jobs/<str:number>/to-return", jobs.JobToReturnView.as_view()),
        path("jobs/<str:number>/operations", scope.JobOperationsView.as_view()),
        path("jobs/<str:number>/findings", findings.JobFindingsView.as_view()),
        path("jobs/<str:number>/findings/<number:finding>/withdrawals", findings.FindingWithdrawalsView.as_view()),
        path("jobs/<str:number>/approvals", findings.JobApprovalsView.as_view()),
        path("jobs/<str:number>/choices", scope.JobChoicesView.as_view()),
        path("jobs/<str:number>/bores", scope.JobBoresView.as_view()),
        path("jobs/<str:number>/dates", dates.JobDatesView.as_view()),
        path("jobs/<str:number>/checks", dates.JobChecksView.as_view()),
        path("jobs/<str:number>/outside-work", dates.JobOutsideWorkView.as_view()),
        path("jobs/<str:number>/outside-work/<number:outside>/returns", dates.OutsideWorkReturnsView.as_view()),
        path("jobs/<str:number>/holds", holds.JobHoldsView.as_view()),
        path("holds/<number:hold>/releases", holds.HoldReleasesView.as_view()),
        path("holds/<number:hold>/lapses", holds.HoldLapsesView.as_view()),
        path("jobs/<str:number>/pick-lists", pick_lists.JobPickListsView.as_view()),
        path("pick-lists/<number:pick_list>", pick_lists.PickListView.as_view()),
        path("pick-lists/<number:pick_list>/picks", pick_lists.PickListPicksView.as_view()),
        path("pick-lists/<number:pick_list>/handovers", pick_lists.PickListHandoversView.as_view()),
        path("jobs/<str:number>/finds", strips.JobFindsView.as_view()),
        path("jobs/<str:number>/removals", strips.JobRemovalsView.as_view()),
        path("jobs/<str:number>/inspections", strips.JobInspectionsView.as_view()),
        path("jobs/<str:number>/joints", sealing.JobJointsView.as_view()),
        path("jobs/<str:number>/joints/<str:joint>/gates", sealing.JointGatesView.as_view()),
        path("jobs/<str:number>/joints/<str:joint>/beads", sealing.JointBeadsView.as_view()),
        path("sealant-use", sealing.SealantUseView.as_view()),
        path("jobs/<str:number>/fittings", fittings.JobFittingsView.as_view()),
        path("jobs/<str:number>/extras", left_over.JobExtrasView.as_view()),
        path("jobs/<str:number>/returns", left_over.JobReturnsView.as_view()),
        path("jobs/<str:number>/scraps", left_over.JobScrapsView.as_view()),
        path("jobs/<str:number>/not-needed", left_over.JobNotNeededView.as_view()),
        path("jobs/<str:number>/tool-returns", left_over.JobToolReturnsView.as_view()),
        path("jobs/<str:number>/closings", endings.JobClosingsView.as_view()),
        path("jobs/<str:number>/cancellations", endings.JobCancellationsView.as_view()),
    ]
