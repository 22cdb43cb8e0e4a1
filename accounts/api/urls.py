"""Addresses of people, darkrooms and the record."""

from django.urls import path

from accounts.api import (
    darkroom,
    delivery,
    feed,
    membership,
    notice,
    person,
    preference,
    signoff,
    token,
    topic,
    webhook,
)

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
    path(f"{ROOM}/notices/<uuid:id>/completion", notice.DoneView.as_view()),
    path(f"{ROOM}/notices/<uuid:id>/snooze", notice.SnoozeView.as_view()),
    path(f"{ROOM}/notice-kinds", notice.KindsView.as_view()),
    path(f"{ROOM}/notice-kinds/<slug:kind>/muting", notice.MutingView.as_view()),
    path(f"{ROOM}/notice-kinds/<slug:kind>/lead", notice.LeadView.as_view()),
    path(f"{ROOM}/deliveries", delivery.DeliveriesView.as_view()),
    path(f"{ROOM}/deliveries/<uuid:id>/resend", delivery.ResendView.as_view()),
    path(f"{ROOM}/feeds", feed.FeedsView.as_view()),
    path(f"{ROOM}/feeds/<uuid:id>", feed.FeedView.as_view()),
    path(f"{ROOM}/feeds/<uuid:id>/revocation", feed.RevocationView.as_view()),
    path(f"{ROOM}/preferences", preference.PreferencesView.as_view()),
    path(f"{ROOM}/webhook", webhook.WebhookView.as_view()),
    path(f"{ROOM}/webhook/ending", webhook.EndView.as_view()),
    path(f"{ROOM}/webhook/rotation", webhook.RotationView.as_view()),
]
