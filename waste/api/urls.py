"""The addresses of waste, all inside a darkroom."""

from django.urls import path

from waste.api import (
    accumulation,
    assessment,
    container,
    document,
    drain,
    emptying,
    fill,
    incident,
    inspection,
    label,
    log,
    pickup,
    stream,
)

ROOM = "darkrooms/<slug:slug>"

urlpatterns = [
    path(f"{ROOM}/streams", stream.StreamsView.as_view()),
    path(f"{ROOM}/streams/<uuid:id>", stream.StreamView.as_view()),
    path(f"{ROOM}/streams/<uuid:id>/versions", stream.VersionsView.as_view()),
    path(f"{ROOM}/containers", container.ContainersView.as_view()),
    path(f"{ROOM}/containers/<uuid:id>", container.ContainerView.as_view()),
    path(f"{ROOM}/containers/<uuid:id>/closing", container.ClosingView.as_view()),
    path(f"{ROOM}/containers/<uuid:id>/reopening", container.ReopeningView.as_view()),
    path(f"{ROOM}/containers/<uuid:id>/clearing", container.ClearingView.as_view()),
    path(f"{ROOM}/containers/<uuid:id>/emptying", emptying.EmptyingView.as_view()),
    path(f"{ROOM}/containers/<uuid:id>/fills", fill.ContainerFillsView.as_view()),
    path(f"{ROOM}/containers/<uuid:id>/inspections", inspection.InspectionsView.as_view()),
    path(f"{ROOM}/containers/<uuid:id>/washings", container.WashingsView.as_view()),
    path(f"{ROOM}/containers/<uuid:id>/label", label.ContainerLabelView.as_view()),
    path(f"{ROOM}/waste-incidents", incident.IncidentsView.as_view()),
    path(f"{ROOM}/waste-incidents/<uuid:id>", incident.IncidentView.as_view()),
    path(f"{ROOM}/waste-incidents/<uuid:id>/resolution", incident.ResolutionView.as_view()),
    path(f"{ROOM}/drain-rules", drain.RulesView.as_view()),
    path(f"{ROOM}/drain-rules/<uuid:id>", drain.RuleView.as_view()),
    path(f"{ROOM}/drain-releases", drain.ReleasesView.as_view()),
    path(f"{ROOM}/drain-releases/<uuid:id>", drain.ReleaseView.as_view()),
    path(f"{ROOM}/drain-releases/<uuid:id>/reversal", drain.ReversalView.as_view()),
    path(f"{ROOM}/fills", fill.FillsView.as_view()),
    path(f"{ROOM}/fills/<uuid:id>", fill.FillView.as_view()),
    path(f"{ROOM}/fills/<uuid:id>/reversal", fill.ReversalView.as_view()),
    path(f"{ROOM}/assessments/compatibility", assessment.CompatibilityView.as_view()),
    path(f"{ROOM}/accumulation", accumulation.AccumulationView.as_view()),
    *pickup.urls,
    *log.urls,
    *document.urls,
]
