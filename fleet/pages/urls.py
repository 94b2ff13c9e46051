"""The addresses of the pages. Keys of the register stand in them as they are, so they may hold a slash."""

from django.contrib.auth.views import LoginView, LogoutView
from django.urls import include, path

from . import help
from .accounts import account, belonging, invitations
from .bench import begun_kits, builds, laylines
from .folders import matching, sending
from .members import form_only
from .planner import calendars, decisions, due, empty_places, looks, margins, plans
from .policies import backtests, ways
from .register import assemblies, changeouts, groups, machines, parts, search
from .replacing import bursts, stand_ins
from .shop import build_sheets, kits
from .stock import advice, counts, gaps, orders
from .work import meters, recording, tags

of_organization = [
    path("", account.organization, name="organization"),
    path("members/", belonging.belong, name="belong"),
    path("members/leave/", belonging.leave, name="leave"),
    path("members/<int:member>/", belonging.change_role, name="change_role"),
    path("members/<int:member>/new-password/", belonging.offer_password, name="offer_password"),
    path("members/invitations/<int:invitation>/", belonging.withdraw_invited, name="withdraw_invited"),
    path("due/", due.due, name="due"),
    path("due/changes/", due.changes, name="changes"),
    path("due/decisions/", decisions.standing, name="decisions"),
    path("due/decide/<path:assembly>/", decisions.decide, name="decide"),
    path("due/withdraw/<path:assembly>/", decisions.withdraw, name="withdraw"),
    path("due/places-without-hose/", empty_places.empty_places, name="empty_places"),
    path("margins/", margins.margins, name="margins"),
    path("calendars/", calendars.calendars, name="calendars"),
    path("calendars/<int:calendar>/revoke/", calendars.revoke, name="revoke_calendar"),
    path("plans/", plans.make_plan, name="make_plan"),
    path("plans/<int:plan>/", plans.plan_progress, name="plan"),
    path("build/", kits.build, name="build"),
    path("build/cuts/", kits.cuts, name="cuts"),
    path("build/layline/", laylines.layline, name="layline"),
    path("build/ends/", laylines.ends, name="ends"),
    path("build/bench/", begun_kits.begun, name="begun"),
    path("build/bench/one/", begun_kits.begin_one, name="begin_one"),
    path("build/bench/<path:kit>/supply/", begun_kits.supply, name="supply_kit"),
    path("build/bench/<path:kit>/take-apart/", begun_kits.take_apart, name="take_apart"),
    path("build/bench/<path:kit>/<int:number>/record/", builds.record_build, name="record_build"),
    path("build/bench/<path:kit>/<int:number>/scrap/", builds.scrap, name="scrap_build"),
    path("build/bench/<path:kit>/<int:number>/", builds.built, name="built"),
    path("build/kits/<path:kit>/begin/", begun_kits.begin, name="begin_kit"),
    path("build/kits/<path:kit>/sheet/", build_sheets.build_sheet, name="build_sheet"),
    path("build/kits/<path:kit>/", kits.kit, name="kit"),
    path("order/", advice.order, name="order"),
    path("order/shelves/", advice.shelves, name="shelves"),
    path("order/shelves/count/", counts.count, name="count_stock"),
    path("order/place/", orders.place_order, name="place_order"),
    path("order/coming/", orders.coming, name="coming"),
    path("order/coming/receive/", orders.receive, name="receive"),
    path("order/coming/change/", orders.change_order, name="change_order"),
    path("order/moves/", advice.transfers, name="transfers"),
    path("order/moves/make/", counts.move, name="move_stock"),
    path("order/suspects/", advice.suspects, name="suspects"),
    path("order/not-known/", gaps.gaps, name="gaps"),
    path("order/not-known/enter/", gaps.enter_gap, name="enter_gap"),
    path("order/past-forecasts/", backtests.past_forecasts, name="past_forecasts"),
    path("order/past-forecasts/try/", backtests.try_past_forecasts, name="try_past_forecasts"),
    path("order/compare/", ways.compare, name="compare"),
    path("order/compare/what-if/", ways.ask_what_if, name="ask_what_if"),
    path("policies/age-rules/", ways.age_rules, name="age_rules"),
    path("policies/age-rules/choose/", ways.set_age_rule, name="set_age_rule"),
    path("machines/", machines.machines, name="machines"),
    path("machines/<path:machine>/positions/<path:position>/burst/", bursts.burst, name="burst"),
    path(
        "machines/<path:machine>/positions/<path:position>/stand-ins/",
        stand_ins.stand_ins,
        name="stand_ins",
    ),
    path(
        "machines/<path:machine>/positions/<path:position>/design/",
        stand_ins.choose,
        name="choose_design",
    ),
    path("machines/<path:machine>/changeouts/<path:changeout>/", changeouts.changeout, name="changeout"),
    path("stand-ins/", stand_ins.worn_stand_ins, name="worn_stand_ins"),
    path("machines/<path:machine>/day/", recording.machine_day, name="machine_day"),
    path("machines/<path:machine>/", machines.machine, name="machine"),
    path("assemblies/", assemblies.assemblies, name="assemblies"),
    path("groups/look/", assemblies.look_at_group, name="look_at_group"),
    path("groups/change/", assemblies.change_group, name="change_group"),
    path("assemblies/<path:assembly>/", assemblies.assembly, name="assembly"),
    path("tags/", tags.tags, name="tags"),
    path("tags/<path:assembly>/", tags.tag, name="tag"),
    path("work/paste/", recording.paste, name="paste"),
    path("work/meters/", meters.meters, name="meters"),
    path("work/assemblies/<path:assembly>/", recording.record, name="record"),
    path("lots/", groups.lots, name="lots"),
    path("people/", groups.people, name="people"),
    path("looks/", looks.looks, name="looks"),
    path("looks/<int:look>/withdraw/", looks.withdraw, name="withdraw_look"),
    path("parts/", parts.parts, name="parts"),
    path("parts/<path:part>/", parts.part, name="part"),
    path("search/", search.search, name="search"),
    path("help/", help.what_forecasts_rest_on, name="rests_on"),
    path("help/tried/", help.how_forecasts_were_tried, name="tried"),
    path("folders/", sending.folders, name="folders"),
    path("folders/send/", sending.send_folder, name="send_folder"),
    path("folders/empty.zip", sending.empty_folder, name="empty_folder"),
    path("folders/empty.xlsx", sending.empty_workbook, name="empty_workbook"),
    path("folders/sheet/", matching.send_sheet, name="send_sheet"),
    path("folders/<int:reading>/", sending.folder, name="folder"),
    path("folders/<int:reading>/columns/", matching.match_columns, name="match_columns"),
    path("folders/<int:reading>/columns/again/", matching.match_anew, name="match_anew"),
    path("folders/<int:reading>/again/", sending.read_again, name="read_again"),
    path("folders/<int:reading>/store/", sending.store_folder, name="store_folder"),
    path("folders/<int:reading>/leave/", sending.drop_folder, name="leave_folder"),
    path("folders/<int:reading>/findings.csv", sending.folder_findings, name="folder_findings"),
]

urlpatterns = [
    path("", account.home, name="home"),
    path(
        "sign-in/",
        LoginView.as_view(template_name="accounts/sign_in.html", redirect_authenticated_user=True),
        name="sign_in",
    ),
    path("sign-out/", form_only(LogoutView.as_view()), name="sign_out"),
    path("password/", account.password, name="change_password"),
    path("new-passwords/<str:uidb64>/<str:token>/", account.NewPassword.as_view(), name="new_password"),
    path("invitations/<str:secret>/", invitations.accept, name="accept"),
    path("calendars/<str:secret>.ics", calendars.calendar, name="calendar"),
    path("organizations/", account.organizations, name="organizations"),
    path("organizations/found/", account.found, name="found"),
    path("<slug:slug>/", include(of_organization)),
]
