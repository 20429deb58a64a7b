"""Addresses under /api/v1/: plural nouns, acts as sub-resources."""

from __future__ import annotations

from django.urls import include, path, re_path, register_converter
from drf_spectacular.views import SpectacularAPIView, SpectacularSwaggerView

from api.rest.urls_jobs import job_urls
from api.rest.views import (
    acts,
    assembling,
    catalogue,
    certificates,
    claims,
    docs,
    engines,
    fits,
    gauges,
    imports,
    items,
    line_reviews,
    lots,
    money,
    moves,
    old_units,
    orders,
    parts,
    places,
    receipts,
    rings,
    safety,
    scanned,
    sealing,
    sent_later,
    storage,
    suppliers,
    tokens,
    trace,
    write_offs,
)


class NumberConverter:
    """A row's number: digits that fit into the databases' integers."""

    regex = "[0-9]{1,15}"

    def to_python(self, value: str) -> int:
        """The number."""
        return int(value)

    def to_url(self, value: int) -> str:
        """Its digits."""
        return str(value)


register_converter(NumberConverter, "number")

STORES = [
    path("parts", parts.PartsView.as_view()),
    path("parts/<path:number>/replacements", parts.PartReplacementsView.as_view()),
    path("parts/<path:number>/joins", catalogue.PartJoinsView.as_view()),
    path("parts/<path:number>/photos", catalogue.PartPhotosView.as_view()),
    path("parts/<path:number>/stock-withdrawals", catalogue.PartStockWithdrawalsView.as_view()),
    path("parts/<path:number>/assemblies", assembling.PartAssembliesView.as_view()),
    path("parts/<path:number>/kit-revisions", parts.PartKitRevisionsView.as_view()),
    path("storage-rules", storage.StorageRulesView.as_view()),
    path("temperatures/<number:one>/withdrawals", storage.TemperatureWithdrawalsView.as_view()),
    path("safety-sheets", safety.SafetySheetsView.as_view()),
    path("safety-sheet-readings", safety.SafetySheetReadingsView.as_view()),
    path("parts/<path:number>/safety-sheets", safety.PartSafetySheetsView.as_view()),
    path("parts/<path:number>/sheets", sealing.PartSheetsView.as_view()),
    path("parts/<path:number>/sheets/readings", sealing.PartSheetReadingsView.as_view()),
    path("parts/<path:number>/ring-substitutes", rings.PartRingSubstitutesView.as_view()),
    path("replacements/<number:number>/withdrawals", parts.ReplacementWithdrawalsView.as_view()),
    path("ring-sizes", rings.RingSizesView.as_view()),
    path("scans", scanned.ScansView.as_view()),
    path("ring-identifications", rings.RingIdentificationsView.as_view()),
    path("groove-checks", rings.GrooveChecksView.as_view()),
    path("rubber-decisions", rings.RubberDecisionsView.as_view()),
    path("suppliers", suppliers.SuppliersView.as_view()),
    path("suppliers/<path:code>/parts", suppliers.SupplierPartsView.as_view()),
    path("imports", imports.ImportsView.as_view()),
    path("imports/<number:number>", imports.ImportView.as_view()),
    path("imports/<number:number>/file", imports.ImportFileView.as_view()),
    path("imports/<number:number>/rows", imports.ImportRowsView.as_view()),
    path("imports/<number:number>/readings", imports.ImportReadingsView.as_view()),
    path("imports/<number:number>/answers", imports.ImportAnswersView.as_view()),
    path("imports/<number:number>/bookings", imports.ImportBookingsView.as_view()),
    path("purchase-orders", orders.OrdersView.as_view()),
    path("purchase-orders/<path:number>/acknowledgements", orders.OrderAcknowledgementsView.as_view()),
    path("purchase-orders/<path:number>/closings", orders.OrderClosingsView.as_view()),
    path("receipts", receipts.ReceiptsView.as_view()),
    path("certificates", certificates.CertificatesView.as_view()),
    path("certificates/<number:number>/file", certificates.CertificateFileView.as_view()),
    path("certificates/<number:number>/lots", certificates.CertificateLotsView.as_view()),
    path("sample-plans", certificates.SamplePlansView.as_view()),
    path("lot-inspections", certificates.LotInspectionsView.as_view()),
    path("set-asides", claims.SetAsidesView.as_view()),
    path("rejects", claims.RejectsView.as_view()),
    path("supplier-returns", claims.SupplierReturnsView.as_view()),
    path("supplier-returns/<number:number>/credits", claims.SupplierReturnCreditsView.as_view()),
    path("supplier-records", orders.SupplierRecordsView.as_view()),
    path("credits-awaited", claims.CreditsAwaitedView.as_view()),
    path("transfers", moves.TransfersView.as_view()),
    path("quarantine-releases", moves.ReleasesView.as_view()),
    path("counts", moves.CountsView.as_view()),
    path("scraps", moves.ScrapsView.as_view()),
    path("old-units", old_units.OldUnitsView.as_view()),
    path("old-units/<number:number>/answers", old_units.OldUnitAnswersView.as_view()),
    path("old-unit-returns", old_units.OldUnitReturnsView.as_view()),
    path("deposits", old_units.DepositsView.as_view()),
    path("deposits/<number:number>/entries", old_units.DepositEntriesView.as_view()),
    path("deposit-entries/<number:number>/reversals", old_units.EntryReversalsView.as_view()),
    path("outstanding-deposits", old_units.OutstandingDepositsView.as_view()),
    path("deposits-at-risk", old_units.DepositsAtRiskView.as_view()),
    path("lots", lots.LotsView.as_view()),
    path("lots/<number:number>", lots.LotView.as_view()),
    path("lots/<number:number>/stops", lots.LotStopsView.as_view()),
    path("lots/<number:number>/frees", lots.LotFreesView.as_view()),
    path("lots/<number:number>/extensions", lots.LotExtensionsView.as_view()),
    path("lots/<number:number>/storage", storage.LotStorageView.as_view()),
    path("lots/<number:number>/whereabouts", trace.LotWhereaboutsView.as_view()),
    path("stock-value", money.StockValueView.as_view()),
    path("late-invoices", money.LateInvoicesView.as_view()),
    path("write-offs", write_offs.WriteOffsView.as_view()),
    path("matched-sets", items.SetsView.as_view()),
    path("matched-sets/<path:serial>/breaks", items.SetBreaksView.as_view()),
    path("matched-sets/<path:serial>/core-values", items.SetCoreValuesView.as_view()),
    path("matched-sets/<path:serial>/history", trace.SetHistoryView.as_view()),
    path("items", items.ItemsView.as_view()),
    path("items/<number:number>", items.ItemView.as_view()),
    path("items/<number:number>/history", trace.ItemHistoryView.as_view()),
    path("items/<number:number>/openings", moves.OpeningsView.as_view()),
    path("items/<number:number>/stops", items.ItemStopsView.as_view()),
    path("items/<number:number>/frees", items.ItemFreesView.as_view()),
    path("tubes/<path:number>/weighings", moves.WeighingsView.as_view()),
    path("sites", places.SitesView.as_view()),
    path("places", places.PlacesView.as_view()),
    path("places/<path:code>/storage", storage.PlaceStorageView.as_view()),
    path("places/<path:code>/temperatures", storage.PlaceTemperaturesView.as_view()),
    path("places/<path:code>/contents", places.PlaceContentsView.as_view()),
    path("balances", places.BalancesView.as_view()),
    path("offline-acts", sent_later.OfflineActsView.as_view()),
    path("clashes", sent_later.ClashesView.as_view()),
    path("clashes/<number:number>/answers", sent_later.ClashAnswersView.as_view()),
    path("acts", acts.ActsView.as_view()),
    path("acts/<number:number>", acts.ActView.as_view()),
    path("acts/<number:number>/corrections", acts.CorrectionsView.as_view()),
    path("refusals", acts.RefusalsView.as_view()),
]
REBUILDS = [
    path("gauges", gauges.GaugesView.as_view()),
    path("gauges/<str:number>", gauges.GaugeView.as_view()),
    path("gauges/<str:number>/calibrations", gauges.GaugeCalibrationsView.as_view()),
    path("gauges/<str:number>/withdrawals", gauges.GaugeWithdrawalsView.as_view()),
    path("gauges/<str:number>/studies", gauges.GaugeStudiesView.as_view()),
    path("engine-families", engines.FamiliesView.as_view()),
    path("fits", fits.FitsView.as_view()),
    path("stacks", fits.StacksView.as_view()),
    path("engine-families/<path:code>/height-stack", fits.FamilyHeightStackView.as_view()),
    path("engine-families/<path:code>/weight-groups", fits.FamilyWeightGroupsView.as_view()),
    path("engine-families/<path:code>/likely-findings", engines.LikelyFindingsView.as_view()),
    path("procedures", engines.ProceduresView.as_view()),
    path("procedures/<path:code>/line-reviews", line_reviews.ProcedureLineReviewsView.as_view()),
    path("line-reviews", line_reviews.LineReviewsView.as_view()),
    path("engines", engines.EnginesView.as_view()),
    path("engines/<path:number>/contents", trace.EngineContentsView.as_view()),
    path("engines/<path:number>/story", trace.EngineStoryView.as_view()),
]
#: Numbers and codes are as their makers print them, with slashes too: what stands below such a thing was looked for before.
#: A number that itself ends like an address below it ("X/replacements") is found by the filters of the lists only.
SINGLE = [
    path("parts/<path:number>", parts.PartView.as_view()),
    path("purchase-orders/<path:number>", orders.OrderView.as_view()),
    path("suppliers/<path:code>", suppliers.SupplierView.as_view()),
    path("matched-sets/<path:serial>", items.SetView.as_view()),
    path("places/<path:code>", places.PlaceView.as_view()),
    path("engine-families/<path:code>", engines.FamilyView.as_view()),
    path("procedures/<path:code>", engines.ProcedureView.as_view()),
    path("engines/<path:number>", engines.EngineView.as_view()),
]
urlpatterns = [
    path("tokens", tokens.TokensView.as_view()),
    *STORES,
    *REBUILDS,
    *job_urls(),
    *SINGLE,
    path("schema", SpectacularAPIView.as_view(), name="schema"),
    path("docs", SpectacularSwaggerView.as_view(url_name="schema")),
    path("session/", include("rest_framework.urls")),
    re_path(r"", docs.UnknownView.as_view()),
]
