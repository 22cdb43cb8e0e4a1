"""Addresses of people, darkrooms and the record."""

from django.urls import path

from accounts.api import darkroom, membership, notice, person, signoff, token, topic

ROOM = "darkrooms/<slug:slug>"

urlpatterns = [
    path("me", person.MeView.as_view()),
    path("tokens", token.TokensView.as_view()),
    path("tokens/<uuid:id>", token.TokenView.as_view()),
    path("darkrooms", darkroom.DarkroomsView.as_view()),
    path(ROOM, darkroom.DarkroomView.as_view()),
    path(f"{ROOM}/members", membership.MembersView.as_view()),
    path(f"{ROOM}/members/<uuid:id>", membership.MemberView.as_view()),
    path(f"{ROOM}/members/<uuid:id>/departure", membership.DepartureView.as_view()),
    path(f"{ROOM}/topics", topic.TopicsView.as_view()),
    path(f"{ROOM}/topics/<uuid:id>", topic.TopicView.as_view()),
    path(f"{ROOM}/topics/<uuid:id>/retirement", topic.RetirementView.as_view()),
    path(f"{ROOM}/sign-offs", signoff.SignOffsView.as_view()),
    path(f"{ROOM}/sign-offs/<uuid:id>", signoff.SignOffView.as_view()),
    path(f"{ROOM}/sign-offs/<uuid:id>/revocation", signoff.RevocationView.as_view()),
    path(f"{ROOM}/notices", notice.NoticesView.as_view()),
    path(f"{ROOM}/notices/<uuid:id>/reading", notice.ReadingView.as_view()),
]
