"""Addresses of the rebuild jobs under /api/v1/: acts as sub-resources of the job, of a hold, of a pick list."""

from __future__ import annotations

from django.urls import URLPattern, path

from api.rest.views import (
    build,
    dates,
    endings,
    engines,
    findings,
    fittings,
    holds,
    jobs,
    left_over,
    liners,
    origins,
    owners,
    pick_lists,
    readings,
    reminders,
    scope,
    sealing,
    strips,
    terms,
    verdicts,
    washed_out,
)


def job_urls() -> list[URLPattern]:
    """The addresses; made when asked for, because they use a converter that the service's own urls register."""
    return [
        path("engines/<path:number>/field-marks", engines.EngineFieldMarksView.as_view()),
        path("engines/<path:number>/readings", terms.EngineReadingsView.as_view()),
        path("engines/<path:number>/meter-changes", terms.EngineMeterChangesView.as_view()),
        path("engines/<path:number>/term", terms.EngineTermView.as_view()),
        path("owners", owners.OwnersView.as_view()),
        path("owners/<number:owner>", owners.OwnerView.as_view()),
        path("jobs", jobs.JobsView.as_view()),
        path("jobs/<str:number>", jobs.JobView.as_view()),
        path("jobs/<str:number>/list", jobs.JobListView.as_view()),
        path("jobs/<str:number>/shorts", jobs.JobShortsView.as_view()),
        path("jobs/<str:number>/open-lines", jobs.JobOpenLinesView.as_view()),
        path("jobs/<str:number>/startable", jobs.JobStartableView.as_view()),
        path("reminders", reminders.RemindersView.as_view()),
        path("jobs/<str:number>/reminders", reminders.JobRemindersView.as_view()),
        path("jobs/<str:number>/to-return", jobs.JobToReturnView.as_view()),
        path("jobs/<str:number>/operations", scope.JobOperationsView.as_view()),
        path("jobs/<str:number>/findings", findings.JobFindingsView.as_view()),
        path("jobs/<str:number>/findings/<number:finding>/withdrawals", findings.FindingWithdrawalsView.as_view()),
        path("jobs/<str:number>/approvals", findings.JobApprovalsView.as_view()),
        path("jobs/<str:number>/choices", scope.JobChoicesView.as_view()),
        path("jobs/<str:number>/bores", scope.JobBoresView.as_view()),
        path("jobs/<str:number>/cleaned-marks", scope.JobCleanedMarksView.as_view()),
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
        *at_the_bench(),
    ]


def at_the_bench() -> list[URLPattern]:
    """What happens at the bench: strip, measuring, sealing, fitting, checks, the end of the job."""
    return [
        path("jobs/<str:number>/finds", strips.JobFindsView.as_view()),
        path("jobs/<str:number>/removals", strips.JobRemovalsView.as_view()),
        path("jobs/<str:number>/lost-positions", origins.JobLostPositionsView.as_view()),
        path("jobs/<str:number>/origin-words", origins.JobOriginWordsView.as_view()),
        path("jobs/<str:number>/inspections", strips.JobInspectionsView.as_view()),
        path("jobs/<str:number>/readings", readings.JobReadingsView.as_view()),
        path("jobs/<str:number>/readings/<number:one>/withdrawals", readings.ReadingWithdrawalsView.as_view()),
        path("jobs/<str:number>/results", readings.JobResultsView.as_view()),
        path("jobs/<str:number>/protrusions", liners.JobProtrusionsView.as_view()),
        path("jobs/<str:number>/layout", liners.JobLayoutView.as_view()),
        path("jobs/<str:number>/layout-acceptances", liners.JobLayoutAcceptancesView.as_view()),
        path(
            "jobs/<str:number>/layout-acceptances/<number:layout>/withdrawals", liners.LayoutWithdrawalsView.as_view()
        ),
        path("jobs/<str:number>/set-replacements", liners.JobSetReplacementsView.as_view()),
        path("jobs/<str:number>/results/<number:one>/acceptances", verdicts.ResultAcceptancesView.as_view()),
        path("jobs/<str:number>/verdicts", verdicts.JobVerdictsView.as_view()),
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
        path("jobs/<str:number>/washed-out", washed_out.JobWashedOutView.as_view()),
        path("jobs/<str:number>/washed-out/returns", washed_out.JobWashedBackView.as_view()),
        path("jobs/<str:number>/piston-checks", build.JobPistonChecksView.as_view()),
        path("jobs/<str:number>/leak-tests", build.JobLeakTestsView.as_view()),
        path("jobs/<str:number>/first-runs", build.JobFirstRunsView.as_view()),
        path("jobs/<str:number>/after-run-work", build.JobAfterRunView.as_view()),
        path("jobs/<str:number>/build-sheet", build.JobBuildSheetView.as_view()),
        path("sites/<str:code>/checkers", build.SiteCheckersView.as_view()),
        path("jobs/<str:number>/closings", endings.JobClosingsView.as_view()),
        path("jobs/<str:number>/engine-handovers", terms.JobEngineHandoversView.as_view()),
        path("jobs/<str:number>/cancellations", endings.JobCancellationsView.as_view()),
    ]
