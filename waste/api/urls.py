"""The addresses of waste, all inside a darkroom."""

from django.urls import path

from waste.api import container, fill, stream

ROOM = "darkrooms/<slug:slug>"

urlpatterns = [
    path(f"{ROOM}/streams", stream.StreamsView.as_view()),
    path(f"{ROOM}/streams/<uuid:id>", stream.StreamView.as_view()),
    path(f"{ROOM}/containers", container.ContainersView.as_view()),
    path(f"{ROOM}/containers/<uuid:id>", container.ContainerView.as_view()),
    path(f"{ROOM}/containers/<uuid:id>/closing", container.ClosingView.as_view()),
    path(f"{ROOM}/containers/<uuid:id>/reopening", container.ReopeningView.as_view()),
    path(f"{ROOM}/containers/<uuid:id>/clearing", container.ClearingView.as_view()),
    path(f"{ROOM}/containers/<uuid:id>/fills", fill.ContainerFillsView.as_view()),
    path(f"{ROOM}/fills", fill.FillsView.as_view()),
    path(f"{ROOM}/fills/<uuid:id>", fill.FillView.as_view()),
    path(f"{ROOM}/fills/<uuid:id>/reversal", fill.ReversalView.as_view()),
]
