"""The register and the plans for the service's own staff: every row with its history."""

from django.contrib import admin
from django.contrib.auth.admin import UserAdmin
from simple_history.admin import SimpleHistoryAdmin

from . import models

HELD_WITH_HISTORY = (
    models.Assembly,
    models.Build,
    models.ChangeoutDecision,
    models.ChosenAgeRule,
    models.ColumnMapping,
    models.CrimpReading,
    models.CrimpSpec,
    models.Design,
    models.DesignPart,
    models.Inspection,
    models.InspectionRequest,
    models.Kit,
    models.KitAssembly,
    models.KitPart,
    models.Machine,
    models.Membership,
    models.MeterReading,
    models.OpenOrder,
    models.Part,
    models.Policy,
    models.Position,
    models.ServiceWindow,
    models.Setting,
    models.Site,
    models.SiteLabour,
    models.StockPiece,
)


class HistoryAdmin(SimpleHistoryAdmin):
    list_filter = ("organization",)
    show_full_result_count = False


class RunAdmin(admin.ModelAdmin):
    """What a job did: to be looked at, never edited."""

    list_display = ("__str__", "state", "requested_at", "requested_by", "finished_at")
    list_filter = ("organization", "state")

    def has_add_permission(self, request) -> bool:
        return False

    def has_change_permission(self, request, obj=None) -> bool:
        return False


admin.site.register(models.User, UserAdmin)
admin.site.register(models.Organization)
for model in HELD_WITH_HISTORY:
    # Rows refer to one of thousands of others, so those are asked for by number and never listed.
    others = [field.name for field in model._meta.fields if field.is_relation]
    admin.site.register(model, HistoryAdmin, raw_id_fields=others, list_select_related=others)
admin.site.register((models.Plan, models.Backtest, models.FolderReading, models.WhatIf), RunAdmin)
