import django.contrib.auth.models
import django.contrib.auth.validators
import django.core.validators
import django.db.models.deletion
import django.utils.timezone
import simple_history.models
from django.conf import settings
from django.db import migrations, models

from ._at_once import CreateModels


class Migration(migrations.Migration):
    initial = True

    dependencies = [
        ("auth", "0012_alter_user_first_name_max_length"),
    ]

    operations = [
        migrations.CreateModel(
            name="Organization",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("name", models.CharField(max_length=200, unique=True)),
                ("slug", models.SlugField(max_length=80, unique=True)),
            ],
            options={
                "ordering": ["name"],
            },
        ),
        migrations.CreateModel(
            name="User",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("password", models.CharField(max_length=128, verbose_name="password")),
                ("last_login", models.DateTimeField(blank=True, null=True, verbose_name="last login")),
                (
                    "is_superuser",
                    models.BooleanField(
                        default=False,
                        help_text="Designates that this user has all permissions without explicitly assigning them.",
                        verbose_name="superuser status",
                    ),
                ),
                (
                    "username",
                    models.CharField(
                        error_messages={"unique": "A user with that username already exists."},
                        help_text="Required. 150 characters or fewer. Letters, digits and @/./+/-/_ only.",
                        max_length=150,
                        unique=True,
                        validators=[django.contrib.auth.validators.UnicodeUsernameValidator()],
                        verbose_name="username",
                    ),
                ),
                ("first_name", models.CharField(blank=True, max_length=150, verbose_name="first name")),
                ("last_name", models.CharField(blank=True, max_length=150, verbose_name="last name")),
                ("email", models.EmailField(blank=True, max_length=254, verbose_name="email address")),
                (
                    "is_staff",
                    models.BooleanField(
                        default=False,
                        help_text="Designates whether the user can log into this admin site.",
                        verbose_name="staff status",
                    ),
                ),
                (
                    "is_active",
                    models.BooleanField(
                        default=True,
                        help_text="Designates whether this user should be treated as active. Unselect this instead of deleting accounts.",
                        verbose_name="active",
                    ),
                ),
                (
                    "date_joined",
                    models.DateTimeField(default=django.utils.timezone.now, verbose_name="date joined"),
                ),
                (
                    "groups",
                    models.ManyToManyField(
                        blank=True,
                        help_text="The groups this user belongs to. A user will get all permissions granted to each of their groups.",
                        related_name="user_set",
                        related_query_name="user",
                        to="auth.group",
                        verbose_name="groups",
                    ),
                ),
                (
                    "user_permissions",
                    models.ManyToManyField(
                        blank=True,
                        help_text="Specific permissions for this user.",
                        related_name="user_set",
                        related_query_name="user",
                        to="auth.permission",
                        verbose_name="user permissions",
                    ),
                ),
            ],
            options={
                "verbose_name": "user",
                "verbose_name_plural": "users",
                "abstract": False,
            },
            managers=[
                ("objects", django.contrib.auth.models.UserManager()),
            ],
        ),
        migrations.CreateModel(
            name="HistoricalSite",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("key", models.CharField(max_length=80)),
                ("name", models.CharField(blank=True, max_length=200)),
                ("register_began_on", models.DateField(blank=True, null=True)),
                (
                    "organization",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="fleet.organization",
                    ),
                ),
                ("history_id", models.AutoField(primary_key=True, serialize=False)),
                ("history_date", models.DateTimeField(db_index=True)),
                ("history_change_reason", models.CharField(max_length=100, null=True)),
                (
                    "history_type",
                    models.CharField(
                        choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")], max_length=1
                    ),
                ),
                (
                    "history_user",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "verbose_name": "historical site",
                "verbose_name_plural": "historical sites",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalSetting",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("name", models.CharField(max_length=60)),
                ("value", models.CharField(max_length=200)),
                (
                    "organization",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="fleet.organization",
                    ),
                ),
                ("history_id", models.AutoField(primary_key=True, serialize=False)),
                ("history_date", models.DateTimeField(db_index=True)),
                ("history_change_reason", models.CharField(max_length=100, null=True)),
                (
                    "history_type",
                    models.CharField(
                        choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")], max_length=1
                    ),
                ),
                (
                    "history_user",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "verbose_name": "historical setting",
                "verbose_name_plural": "historical settings",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalPolicy",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("scope", models.CharField(max_length=200)),
                ("age_limit_days", models.FloatField(blank=True, null=True)),
                ("hours_limit", models.FloatField(blank=True, null=True)),
                ("risk_limit", models.FloatField(blank=True, null=True)),
                ("risk_horizon_days", models.FloatField(blank=True, null=True)),
                ("surge_allowance_percent", models.FloatField(blank=True, null=True)),
                ("thin_margin_percent", models.FloatField(blank=True, null=True)),
                ("service_level", models.FloatField(blank=True, null=True)),
                (
                    "organization",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="fleet.organization",
                    ),
                ),
                ("history_id", models.AutoField(primary_key=True, serialize=False)),
                ("history_date", models.DateTimeField(db_index=True)),
                ("history_change_reason", models.CharField(max_length=100, null=True)),
                (
                    "history_type",
                    models.CharField(
                        choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")], max_length=1
                    ),
                ),
                (
                    "history_user",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "verbose_name": "historical policy",
                "verbose_name_plural": "historical policies",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalMembership",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                (
                    "role",
                    models.CharField(
                        choices=[
                            ("viewer", "Viewer"),
                            ("shop", "Shop"),
                            ("planner", "Planner"),
                            ("manager", "Manager"),
                            ("owner", "Owner"),
                        ],
                        default="viewer",
                        max_length=10,
                    ),
                ),
                (
                    "user",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "organization",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="fleet.organization",
                    ),
                ),
                ("history_id", models.AutoField(primary_key=True, serialize=False)),
                ("history_date", models.DateTimeField(db_index=True)),
                ("history_change_reason", models.CharField(max_length=100, null=True)),
                (
                    "history_type",
                    models.CharField(
                        choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")], max_length=1
                    ),
                ),
                (
                    "history_user",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "verbose_name": "historical membership",
                "verbose_name_plural": "historical memberships",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalColumnMapping",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("name", models.CharField(max_length=120)),
                ("columns", models.JSONField(default=dict)),
                ("constants", models.JSONField(blank=True, default=dict)),
                ("day_order", models.CharField(blank=True, max_length=5)),
                (
                    "organization",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="fleet.organization",
                    ),
                ),
                ("history_id", models.AutoField(primary_key=True, serialize=False)),
                ("history_date", models.DateTimeField(db_index=True)),
                ("history_change_reason", models.CharField(max_length=100, null=True)),
                (
                    "history_type",
                    models.CharField(
                        choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")], max_length=1
                    ),
                ),
                (
                    "history_user",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "verbose_name": "historical column mapping",
                "verbose_name_plural": "historical column mappings",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalChosenAgeRule",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("rule", models.CharField(max_length=100)),
                (
                    "organization",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="fleet.organization",
                    ),
                ),
                ("history_id", models.AutoField(primary_key=True, serialize=False)),
                ("history_date", models.DateTimeField(db_index=True)),
                ("history_change_reason", models.CharField(max_length=100, null=True)),
                (
                    "history_type",
                    models.CharField(
                        choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")], max_length=1
                    ),
                ),
                (
                    "history_user",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "verbose_name": "historical chosen age rule",
                "verbose_name_plural": "historical chosen age rules",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="FolderReading",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "organization",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="folder_readings",
                        to="fleet.organization",
                    ),
                ),
                (
                    "state",
                    models.CharField(
                        choices=[
                            ("requested", "Requested"),
                            ("running", "Running"),
                            ("to_match", "Columns to be matched"),
                            ("looked_at", "Looked at"),
                            ("left", "Left"),
                            ("done", "Done"),
                            ("refused", "Refused"),
                            ("failed", "Failed"),
                        ],
                        default="requested",
                        max_length=10,
                    ),
                ),
                ("upload", models.FileField(upload_to="folders/")),
                ("requested_at", models.DateTimeField(auto_now_add=True)),
                (
                    "requested_by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("started_at", models.DateTimeField(blank=True, null=True)),
                ("finished_at", models.DateTimeField(blank=True, null=True)),
                ("progress", models.CharField(blank=True, max_length=200)),
                ("failure", models.TextField(blank=True)),
                ("findings", models.JSONField(blank=True, default=list)),
                ("outcome", models.JSONField(blank=True, default=dict)),
                ("looks_first", models.BooleanField(default=False)),
                ("seen", models.CharField(blank=True, max_length=64)),
                ("agreed", models.CharField(blank=True, max_length=64)),
                ("differences", models.JSONField(blank=True, default=list)),
                ("beside", models.JSONField(blank=True, default=dict)),
            ],
            options={
                "ordering": ["-requested_at", "-pk"],
            },
        ),
        migrations.CreateModel(
            name="CalendarFeed",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "organization",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="calendar_feeds",
                        to="fleet.organization",
                    ),
                ),
                (
                    "made_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="calendar_feeds",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("made_at", models.DateTimeField(auto_now_add=True)),
                ("name", models.CharField(blank=True, max_length=120)),
                ("digest", models.CharField(max_length=64, unique=True)),
                ("site", models.CharField(blank=True, max_length=80)),
                ("revoked_at", models.DateTimeField(blank=True, null=True)),
                ("read_at", models.DateTimeField(blank=True, null=True)),
            ],
            options={
                "ordering": ["-made_at"],
            },
        ),
        migrations.CreateModel(
            name="Backtest",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "organization",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="backtests",
                        to="fleet.organization",
                    ),
                ),
                (
                    "state",
                    models.CharField(
                        choices=[
                            ("requested", "Requested"),
                            ("running", "Running"),
                            ("done", "Done"),
                            ("failed", "Failed"),
                        ],
                        default="requested",
                        max_length=10,
                    ),
                ),
                ("from_day", models.DateField(help_text="the first past date")),
                (
                    "every_days",
                    models.PositiveIntegerField(
                        help_text="days from one past date to the next",
                        validators=[django.core.validators.MinValueValidator(1)],
                    ),
                ),
                (
                    "until",
                    models.DateField(blank=True, help_text="the last day that was looked at", null=True),
                ),
                ("requested_at", models.DateTimeField(auto_now_add=True)),
                (
                    "requested_by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("started_at", models.DateTimeField(blank=True, null=True)),
                (
                    "seen_at",
                    models.DateTimeField(
                        blank=True, help_text="last sign of life of a running job", null=True
                    ),
                ),
                ("finished_at", models.DateTimeField(blank=True, null=True)),
                ("progress", models.CharField(blank=True, max_length=200)),
                ("failure", models.TextField(blank=True)),
                ("version", models.CharField(blank=True, max_length=40)),
                ("scores", models.JSONField(blank=True, default=list)),
                ("words", models.JSONField(blank=True, default=list)),
                ("bands", models.JSONField(blank=True, default=list)),
                ("passed_over", models.JSONField(blank=True, default=list)),
            ],
            options={
                "ordering": ["-requested_at", "-pk"],
                "indexes": [
                    models.Index(fields=["organization", "state", "-finished_at"], name="backtest_newest")
                ],
            },
        ),
        migrations.CreateModel(
            name="AccessToken",
            fields=[
                ("digest", models.CharField(max_length=128, primary_key=True, serialize=False)),
                ("token_key", models.CharField(db_index=True, max_length=25)),
                (
                    "user",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="auth_token_set",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("created", models.DateTimeField(auto_now_add=True)),
                ("expiry", models.DateTimeField(blank=True, null=True)),
                (
                    "organization",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="access_tokens",
                        to="fleet.organization",
                    ),
                ),
            ],
            options={
                "ordering": ["created"],
            },
        ),
        migrations.CreateModel(
            name="Part",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "organization",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="+", to="fleet.organization"
                    ),
                ),
                ("entered", models.JSONField(blank=True, default=dict)),
                ("key", models.CharField(max_length=80)),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("bulk_hose", "Bulk hose"),
                            ("hose_end", "Hose end"),
                            ("ferrule", "Ferrule"),
                            ("sleeve", "Sleeve"),
                            ("adapter", "Adapter"),
                            ("assembly", "Bought assembly"),
                        ],
                        max_length=12,
                    ),
                ),
                ("description", models.CharField(blank=True, max_length=300)),
                ("construction", models.CharField(blank=True, max_length=80)),
                ("edition", models.CharField(blank=True, max_length=80)),
                ("dash", models.FloatField(blank=True, null=True)),
                ("connection_dash", models.FloatField(blank=True, null=True)),
                ("end_style", models.CharField(blank=True, max_length=120)),
                ("thread", models.CharField(blank=True, max_length=80)),
                ("bore_mm", models.FloatField(blank=True, null=True)),
                ("outside_diameter_mm", models.FloatField(blank=True, null=True)),
                ("material", models.CharField(blank=True, max_length=120)),
                ("conductive", models.BooleanField(blank=True, null=True)),
                ("rated_pressure_bar", models.FloatField(blank=True, null=True)),
                ("minimum_temperature_c", models.FloatField(blank=True, null=True)),
                ("maximum_temperature_c", models.FloatField(blank=True, null=True)),
                ("minimum_bend_radius_mm", models.FloatField(blank=True, null=True)),
                ("cutoff_mm", models.FloatField(blank=True, null=True)),
                ("insertion_depth_mm", models.FloatField(blank=True, null=True)),
                ("unit", models.CharField(blank=True, max_length=8)),
                ("unit_cost", models.DecimalField(blank=True, decimal_places=4, max_digits=16, null=True)),
                ("lead_time_days", models.FloatField(blank=True, null=True)),
                ("lead_time_sd_days", models.FloatField(blank=True, null=True)),
                ("pack_quantity", models.FloatField(blank=True, null=True)),
                ("shelf_life_days", models.FloatField(blank=True, null=True)),
                (
                    "superseded_by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="supersedes",
                        to="fleet.part",
                    ),
                ),
                ("obsolete", models.BooleanField(blank=True, null=True)),
            ],
            options={
                "ordering": ["key"],
                "constraints": [
                    models.UniqueConstraint(fields=("organization", "key"), name="part_unique_key"),
                    models.CheckConstraint(
                        condition=models.Q(("rated_pressure_bar__gte", 0)), name="part_rating_not_negative"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("unit_cost__gte", 0)), name="part_cost_not_negative"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("cutoff_mm__gte", 0)), name="part_cutoff_not_negative"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("pack_quantity__gte", 0)), name="part_pack_not_negative"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("lead_time_days__gte", 0)), name="part_lead_time_not_negative"
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Design",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "organization",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="+", to="fleet.organization"
                    ),
                ),
                ("entered", models.JSONField(blank=True, default=dict)),
                ("key", models.CharField(max_length=80)),
                (
                    "hose_part",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="designs_as_hose",
                        to="fleet.part",
                    ),
                ),
                (
                    "end_a_part",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="designs_as_end_a",
                        to="fleet.part",
                    ),
                ),
                (
                    "end_b_part",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="designs_as_end_b",
                        to="fleet.part",
                    ),
                ),
                ("overall_length_mm", models.FloatField()),
                ("orientation_deg", models.FloatField(blank=True, null=True)),
            ],
            options={
                "ordering": ["key"],
                "constraints": [
                    models.UniqueConstraint(fields=("organization", "key"), name="design_unique_key"),
                    models.CheckConstraint(
                        condition=models.Q(("overall_length_mm__gt", 0)), name="design_length_positive"
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="HistoricalPart",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("entered", models.JSONField(blank=True, default=dict)),
                ("key", models.CharField(max_length=80)),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("bulk_hose", "Bulk hose"),
                            ("hose_end", "Hose end"),
                            ("ferrule", "Ferrule"),
                            ("sleeve", "Sleeve"),
                            ("adapter", "Adapter"),
                            ("assembly", "Bought assembly"),
                        ],
                        max_length=12,
                    ),
                ),
                ("description", models.CharField(blank=True, max_length=300)),
                ("construction", models.CharField(blank=True, max_length=80)),
                ("edition", models.CharField(blank=True, max_length=80)),
                ("dash", models.FloatField(blank=True, null=True)),
                ("connection_dash", models.FloatField(blank=True, null=True)),
                ("end_style", models.CharField(blank=True, max_length=120)),
                ("thread", models.CharField(blank=True, max_length=80)),
                ("bore_mm", models.FloatField(blank=True, null=True)),
                ("outside_diameter_mm", models.FloatField(blank=True, null=True)),
                ("material", models.CharField(blank=True, max_length=120)),
                ("conductive", models.BooleanField(blank=True, null=True)),
                ("rated_pressure_bar", models.FloatField(blank=True, null=True)),
                ("minimum_temperature_c", models.FloatField(blank=True, null=True)),
                ("maximum_temperature_c", models.FloatField(blank=True, null=True)),
                ("minimum_bend_radius_mm", models.FloatField(blank=True, null=True)),
                ("cutoff_mm", models.FloatField(blank=True, null=True)),
                ("insertion_depth_mm", models.FloatField(blank=True, null=True)),
                ("unit", models.CharField(blank=True, max_length=8)),
                ("unit_cost", models.DecimalField(blank=True, decimal_places=4, max_digits=16, null=True)),
                ("lead_time_days", models.FloatField(blank=True, null=True)),
                ("lead_time_sd_days", models.FloatField(blank=True, null=True)),
                ("pack_quantity", models.FloatField(blank=True, null=True)),
                ("shelf_life_days", models.FloatField(blank=True, null=True)),
                ("obsolete", models.BooleanField(blank=True, null=True)),
                (
                    "organization",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="fleet.organization",
                    ),
                ),
                (
                    "superseded_by",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="fleet.part",
                    ),
                ),
                ("history_id", models.AutoField(primary_key=True, serialize=False)),
                ("history_date", models.DateTimeField(db_index=True)),
                ("history_change_reason", models.CharField(max_length=100, null=True)),
                (
                    "history_type",
                    models.CharField(
                        choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")], max_length=1
                    ),
                ),
                (
                    "history_user",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "verbose_name": "historical part",
                "verbose_name_plural": "historical parts",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalDesignPart",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                (
                    "place",
                    models.CharField(
                        choices=[("a", "End a"), ("b", "End b"), ("hose", "Hose")], max_length=4
                    ),
                ),
                ("quantity", models.FloatField()),
                (
                    "organization",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="fleet.organization",
                    ),
                ),
                (
                    "design",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="fleet.design",
                    ),
                ),
                (
                    "part",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="fleet.part",
                    ),
                ),
                ("history_id", models.AutoField(primary_key=True, serialize=False)),
                ("history_date", models.DateTimeField(db_index=True)),
                ("history_change_reason", models.CharField(max_length=100, null=True)),
                (
                    "history_type",
                    models.CharField(
                        choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")], max_length=1
                    ),
                ),
                (
                    "history_user",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "verbose_name": "historical design part",
                "verbose_name_plural": "historical design parts",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalDesign",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("entered", models.JSONField(blank=True, default=dict)),
                ("key", models.CharField(max_length=80)),
                ("overall_length_mm", models.FloatField()),
                ("orientation_deg", models.FloatField(blank=True, null=True)),
                (
                    "organization",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="fleet.organization",
                    ),
                ),
                (
                    "hose_part",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="fleet.part",
                    ),
                ),
                (
                    "end_a_part",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="fleet.part",
                    ),
                ),
                (
                    "end_b_part",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="fleet.part",
                    ),
                ),
                ("history_id", models.AutoField(primary_key=True, serialize=False)),
                ("history_date", models.DateTimeField(db_index=True)),
                ("history_change_reason", models.CharField(max_length=100, null=True)),
                (
                    "history_type",
                    models.CharField(
                        choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")], max_length=1
                    ),
                ),
                (
                    "history_user",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "verbose_name": "historical design",
                "verbose_name_plural": "historical designs",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalCrimpSpec",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("entered", models.JSONField(blank=True, default=dict)),
                ("crimp_diameter_mm", models.FloatField()),
                ("crimp_over_mm", models.FloatField(blank=True, null=True)),
                ("crimp_under_mm", models.FloatField(blank=True, null=True)),
                ("die", models.CharField(blank=True, max_length=80)),
                ("chart", models.CharField(blank=True, max_length=120)),
                (
                    "organization",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="fleet.organization",
                    ),
                ),
                (
                    "hose_part",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="fleet.part",
                    ),
                ),
                (
                    "end_part",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="fleet.part",
                    ),
                ),
                (
                    "ferrule_part",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="fleet.part",
                    ),
                ),
                ("history_id", models.AutoField(primary_key=True, serialize=False)),
                ("history_date", models.DateTimeField(db_index=True)),
                ("history_change_reason", models.CharField(max_length=100, null=True)),
                (
                    "history_type",
                    models.CharField(
                        choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")], max_length=1
                    ),
                ),
                (
                    "history_user",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "verbose_name": "historical crimp spec",
                "verbose_name_plural": "historical crimp specs",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="DesignPart",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "organization",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="+", to="fleet.organization"
                    ),
                ),
                (
                    "design",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="parts", to="fleet.design"
                    ),
                ),
                (
                    "place",
                    models.CharField(
                        choices=[("a", "End a"), ("b", "End b"), ("hose", "Hose")], max_length=4
                    ),
                ),
                (
                    "part",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="designs_with",
                        to="fleet.part",
                    ),
                ),
                ("quantity", models.FloatField()),
            ],
            options={
                "ordering": ["design", "place", "part"],
                "constraints": [
                    models.UniqueConstraint(fields=("design", "place", "part"), name="design_part_unique"),
                    models.CheckConstraint(
                        condition=models.Q(("quantity__gte", 0)), name="design_part_not_negative"
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="CrimpSpec",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "organization",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="+", to="fleet.organization"
                    ),
                ),
                ("entered", models.JSONField(blank=True, default=dict)),
                (
                    "hose_part",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="crimps_as_hose",
                        to="fleet.part",
                    ),
                ),
                (
                    "end_part",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="crimps_as_end",
                        to="fleet.part",
                    ),
                ),
                (
                    "ferrule_part",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="crimps_as_ferrule",
                        to="fleet.part",
                    ),
                ),
                ("crimp_diameter_mm", models.FloatField()),
                ("crimp_over_mm", models.FloatField(blank=True, null=True)),
                ("crimp_under_mm", models.FloatField(blank=True, null=True)),
                ("die", models.CharField(blank=True, max_length=80)),
                ("chart", models.CharField(blank=True, max_length=120)),
            ],
            options={
                "ordering": ["hose_part", "end_part", "ferrule_part"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("hose_part", "end_part", "ferrule_part"), name="crimp_spec_unique_parts"
                    ),
                    models.UniqueConstraint(
                        condition=models.Q(("ferrule_part", None)),
                        fields=("hose_part", "end_part"),
                        name="crimp_spec_unique_without_ferrule",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("crimp_diameter_mm__gt", 0)), name="crimp_diameter_positive"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("crimp_over_mm__gte", 0), ("crimp_under_mm__gte", 0)),
                        name="crimp_band_not_negative",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Plan",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "organization",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="plans",
                        to="fleet.organization",
                    ),
                ),
                (
                    "state",
                    models.CharField(
                        choices=[
                            ("requested", "Requested"),
                            ("running", "Running"),
                            ("done", "Done"),
                            ("failed", "Failed"),
                        ],
                        default="requested",
                        max_length=10,
                    ),
                ),
                ("as_of", models.DateField()),
                ("requested_at", models.DateTimeField(auto_now_add=True)),
                (
                    "requested_by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("started_at", models.DateTimeField(blank=True, null=True)),
                (
                    "seen_at",
                    models.DateTimeField(
                        blank=True, help_text="last sign of life of a running job", null=True
                    ),
                ),
                ("finished_at", models.DateTimeField(blank=True, null=True)),
                ("progress", models.CharField(blank=True, max_length=200)),
                ("failure", models.TextField(blank=True)),
                ("version", models.CharField(blank=True, max_length=40)),
                ("input_digest", models.CharField(blank=True, max_length=64)),
                ("policies", models.JSONField(blank=True, default=list)),
                ("report", models.JSONField(blank=True, default=dict)),
            ],
            options={
                "ordering": ["-requested_at", "-pk"],
                "indexes": [
                    models.Index(fields=["organization", "state", "-finished_at"], name="plan_in_force")
                ],
                "constraints": [
                    models.UniqueConstraint(
                        condition=models.Q(("state", "running")),
                        fields=("organization",),
                        name="plan_one_runs_at_a_time",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="MarginLine",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "plan",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="+", to="fleet.plan"
                    ),
                ),
                ("row", models.PositiveIntegerField()),
                ("assembly", models.CharField(blank=True, default="", max_length=200)),
                ("machine", models.CharField(blank=True, default="", max_length=200)),
                ("position", models.CharField(blank=True, default="", max_length=200)),
                ("rated_pressure_bar", models.FloatField(null=True)),
                ("demanded_pressure_bar", models.FloatField(null=True)),
                ("margin_percent", models.FloatField(null=True)),
                ("verdict", models.CharField(max_length=8)),
                ("limiting_part", models.CharField(blank=True, default="", max_length=200)),
                ("reason", models.TextField(blank=True)),
            ],
            options={
                "ordering": ["plan", "row"],
                "indexes": [
                    models.Index(fields=["plan", "assembly"], name="margin_by_assembly"),
                    models.Index(fields=["plan", "machine"], name="margin_by_machine"),
                    models.Index(fields=["plan", "verdict"], name="margin_by_verdict"),
                ],
            },
        ),
        migrations.CreateModel(
            name="KitRow",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "plan",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="+", to="fleet.plan"
                    ),
                ),
                ("row", models.PositiveIntegerField()),
                ("kit", models.CharField(blank=True, default="", max_length=200)),
                ("purpose", models.CharField(max_length=10)),
                ("changeout", models.CharField(blank=True, default="", max_length=200)),
                ("machine", models.CharField(blank=True, default="", max_length=200)),
                ("site", models.CharField(blank=True, default="", max_length=200)),
                ("needed_by", models.DateField(null=True)),
                ("ready", models.BooleanField()),
            ],
            options={
                "ordering": ["plan", "row"],
                "indexes": [
                    models.Index(fields=["plan", "kit"], name="kit_by_key"),
                    models.Index(fields=["plan", "needed_by"], name="kit_by_need"),
                    models.Index(fields=["plan", "changeout"], name="kit_by_changeout"),
                    models.Index(fields=["plan", "machine"], name="kit_by_machine"),
                ],
            },
        ),
        migrations.CreateModel(
            name="KitLine",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "plan",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="+", to="fleet.plan"
                    ),
                ),
                ("row", models.PositiveIntegerField()),
                ("kit", models.CharField(blank=True, default="", max_length=200)),
                ("line", models.PositiveIntegerField()),
                ("position", models.CharField(blank=True, default="", max_length=200)),
                ("design", models.CharField(blank=True, default="", max_length=200)),
                ("part", models.CharField(blank=True, default="", max_length=200)),
                ("kind", models.CharField(max_length=12)),
                ("quantity", models.FloatField()),
                ("unit", models.CharField(max_length=8)),
                ("cut_length_mm", models.FloatField(null=True)),
                ("short_by", models.FloatField()),
                ("available_on", models.DateField(null=True)),
                ("substitute_for", models.CharField(blank=True, default="", max_length=200)),
            ],
            options={
                "ordering": ["plan", "row"],
                "indexes": [
                    models.Index(fields=["plan", "kit"], name="kit_line_by_kit"),
                    models.Index(fields=["plan", "part", "row"], name="kit_line_by_part"),
                ],
            },
        ),
        migrations.CreateModel(
            name="GapLine",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "plan",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="+", to="fleet.plan"
                    ),
                ),
                ("row", models.PositiveIntegerField()),
                ("kind", models.CharField(blank=True, default="", max_length=200)),
                ("name", models.CharField(blank=True, default="", max_length=200)),
                ("column", models.CharField(blank=True, default="", max_length=200)),
                ("worth", models.FloatField(null=True)),
                ("why", models.TextField(blank=True)),
            ],
            options={
                "ordering": ["plan", "row"],
                "indexes": [models.Index(fields=["plan", "row"], name="gap_by_row")],
            },
        ),
        migrations.CreateModel(
            name="ForecastLine",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "plan",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="+", to="fleet.plan"
                    ),
                ),
                ("row", models.PositiveIntegerField()),
                ("assembly", models.CharField(blank=True, default="", max_length=200)),
                ("machine", models.CharField(blank=True, default="", max_length=200)),
                ("position", models.CharField(blank=True, default="", max_length=200)),
                ("population", models.CharField(blank=True, default="", max_length=200)),
                ("age_days", models.FloatField()),
                ("age_hours", models.FloatField()),
                ("p_fail_30d", models.FloatField()),
                ("p_fail_90d", models.FloatField()),
                ("p_fail_180d", models.FloatField()),
                ("p_fail_365d", models.FloatField()),
                ("p_fail_365d_low", models.FloatField()),
                ("p_fail_365d_high", models.FloatField()),
                ("median_days_left", models.FloatField(null=True)),
                ("due_on", models.DateField(null=True)),
                ("due_reason", models.CharField(max_length=12)),
                ("limit_on", models.DateField(null=True)),
                ("limit_reason", models.CharField(blank=True, default="", max_length=12)),
            ],
            options={
                "ordering": ["plan", "row"],
                "indexes": [
                    models.Index(fields=["plan", "assembly"], name="forecast_by_assembly"),
                    models.Index(fields=["plan", "machine"], name="forecast_by_machine"),
                    models.Index(fields=["plan", "due_on"], name="forecast_by_due"),
                    models.Index(fields=["plan", "-p_fail_90d"], name="forecast_by_chance"),
                ],
            },
        ),
        migrations.CreateModel(
            name="FailuresAheadLine",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "plan",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="+", to="fleet.plan"
                    ),
                ),
                ("row", models.PositiveIntegerField()),
                ("scope", models.CharField(blank=True, default="", max_length=200)),
                ("horizon_days", models.PositiveIntegerField()),
                ("expected", models.FloatField()),
                ("low_80", models.PositiveIntegerField()),
                ("high_80", models.PositiveIntegerField()),
                ("low_95", models.PositiveIntegerField()),
                ("high_95", models.PositiveIntegerField()),
            ],
            options={
                "ordering": ["plan", "row"],
                "indexes": [models.Index(fields=["plan", "scope"], name="failures_ahead_by_scope")],
            },
        ),
        migrations.CreateModel(
            name="FactorLine",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "plan",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="+", to="fleet.plan"
                    ),
                ),
                ("row", models.PositiveIntegerField()),
                ("assembly", models.CharField(blank=True, default="", max_length=200)),
                ("factor", models.CharField(blank=True, default="", max_length=200)),
                ("multiple", models.FloatField()),
            ],
            options={
                "ordering": ["plan", "row"],
                "indexes": [models.Index(fields=["plan", "assembly"], name="factor_by_assembly")],
            },
        ),
        migrations.CreateModel(
            name="CutLine",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "plan",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="+", to="fleet.plan"
                    ),
                ),
                ("row", models.PositiveIntegerField()),
                ("site", models.CharField(blank=True, default="", max_length=200)),
                ("hose_part", models.CharField(blank=True, default="", max_length=200)),
                ("piece", models.CharField(blank=True, default="", max_length=200)),
                ("lot", models.CharField(blank=True, default="", max_length=200)),
                ("kit", models.CharField(blank=True, default="", max_length=200)),
                ("line", models.PositiveIntegerField()),
                ("cut_length_mm", models.FloatField()),
                ("left_on_piece_mm", models.FloatField()),
            ],
            options={
                "ordering": ["plan", "row"],
                "indexes": [
                    models.Index(fields=["plan", "site"], name="cut_by_site"),
                    models.Index(fields=["plan", "kit", "line"], name="cut_by_kit"),
                ],
            },
        ),
        migrations.CreateModel(
            name="ChangeoutLine",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "plan",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="+", to="fleet.plan"
                    ),
                ),
                ("row", models.PositiveIntegerField()),
                ("changeout", models.CharField(blank=True, default="", max_length=200)),
                ("machine", models.CharField(blank=True, default="", max_length=200)),
                ("planned_on", models.DateField()),
                ("window_starts_on", models.DateField(null=True)),
                ("special_stop", models.BooleanField()),
                ("assembly", models.CharField(blank=True, default="", max_length=200)),
                ("position", models.CharField(blank=True, default="", max_length=200)),
                ("design", models.CharField(blank=True, default="", max_length=200)),
                ("due_on", models.DateField(null=True)),
                ("due_reason", models.CharField(max_length=12)),
                ("expected_cost_now", models.FloatField(null=True)),
                ("expected_cost_if_left", models.FloatField(null=True)),
                ("minutes", models.FloatField(null=True)),
                ("reason", models.TextField(blank=True)),
            ],
            options={
                "ordering": ["plan", "row"],
                "indexes": [
                    models.Index(fields=["plan", "assembly"], name="changeout_by_assembly"),
                    models.Index(fields=["plan", "machine"], name="changeout_by_machine"),
                    models.Index(fields=["plan", "planned_on"], name="changeout_by_day"),
                    models.Index(fields=["plan", "changeout"], name="changeout_by_name"),
                ],
            },
        ),
        migrations.CreateModel(
            name="ChangeLine",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "plan",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="+", to="fleet.plan"
                    ),
                ),
                ("row", models.PositiveIntegerField()),
                ("assembly", models.CharField(blank=True, default="", max_length=200)),
                ("before", models.TextField()),
                ("now", models.TextField()),
                ("cause", models.TextField()),
            ],
            options={
                "ordering": ["plan", "row"],
                "indexes": [models.Index(fields=["plan", "assembly"], name="change_by_assembly")],
            },
        ),
        migrations.CreateModel(
            name="Policy",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "organization",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="+", to="fleet.organization"
                    ),
                ),
                ("scope", models.CharField(max_length=200)),
                ("age_limit_days", models.FloatField(blank=True, null=True)),
                ("hours_limit", models.FloatField(blank=True, null=True)),
                ("risk_limit", models.FloatField(blank=True, null=True)),
                ("risk_horizon_days", models.FloatField(blank=True, null=True)),
                ("surge_allowance_percent", models.FloatField(blank=True, null=True)),
                ("thin_margin_percent", models.FloatField(blank=True, null=True)),
                ("service_level", models.FloatField(blank=True, null=True)),
            ],
            options={
                "verbose_name_plural": "policies",
                "ordering": ["scope"],
                "constraints": [
                    models.UniqueConstraint(fields=("organization", "scope"), name="policy_unique_scope"),
                    models.CheckConstraint(
                        condition=models.Q(("risk_limit__gte", 0), ("risk_limit__lte", 1)),
                        name="policy_risk_is_a_chance",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("service_level__gte", 0), ("service_level__lt", 1)),
                        name="policy_service_level_below_one",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="SentEntry",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "organization",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="+", to="fleet.organization"
                    ),
                ),
                ("token", models.UUIDField()),
                (
                    "sent_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("taken_at", models.DateTimeField(auto_now_add=True)),
                ("outcome", models.CharField(blank=True, max_length=300)),
            ],
            options={
                "verbose_name_plural": "sent entries",
                "ordering": ["taken_at"],
                "constraints": [
                    models.UniqueConstraint(fields=("organization", "token"), name="sent_entry_counts_once")
                ],
            },
        ),
        migrations.CreateModel(
            name="Setting",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "organization",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="+", to="fleet.organization"
                    ),
                ),
                ("name", models.CharField(max_length=60)),
                ("value", models.CharField(max_length=200)),
            ],
            options={
                "ordering": ["name"],
                "constraints": [
                    models.UniqueConstraint(fields=("organization", "name"), name="setting_unique_name")
                ],
            },
        ),
        migrations.CreateModel(
            name="Site",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "organization",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="+", to="fleet.organization"
                    ),
                ),
                ("key", models.CharField(max_length=80)),
                ("name", models.CharField(blank=True, max_length=200)),
                ("register_began_on", models.DateField(blank=True, null=True)),
            ],
            options={
                "ordering": ["key"],
                "constraints": [
                    models.UniqueConstraint(fields=("organization", "key"), name="site_unique_key")
                ],
            },
        ),
        migrations.CreateModel(
            name="Machine",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "organization",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="+", to="fleet.organization"
                    ),
                ),
                ("key", models.CharField(max_length=80)),
                (
                    "site",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="machines", to="fleet.site"
                    ),
                ),
                ("model", models.CharField(blank=True, max_length=200)),
                ("commissioned_on", models.DateField(blank=True, null=True)),
                ("retired_on", models.DateField(blank=True, null=True)),
                ("hours_per_day", models.FloatField(blank=True, null=True)),
                (
                    "downtime_cost_per_hour",
                    models.DecimalField(blank=True, decimal_places=4, max_digits=16, null=True),
                ),
            ],
            options={
                "ordering": ["key"],
                "constraints": [
                    models.UniqueConstraint(fields=("organization", "key"), name="machine_unique_key"),
                    models.CheckConstraint(
                        condition=models.Q(("retired_on__gte", models.F("commissioned_on"))),
                        name="machine_retired_after_commissioned",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("hours_per_day__gte", 0), ("hours_per_day__lte", 24)),
                        name="machine_day_has_24_hours",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("downtime_cost_per_hour__gte", 0)),
                        name="machine_downtime_cost_not_negative",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Kit",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "organization",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="+", to="fleet.organization"
                    ),
                ),
                ("key", models.CharField(max_length=200)),
                (
                    "site",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="kits", to="fleet.site"
                    ),
                ),
                (
                    "machine",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="kits",
                        to="fleet.machine",
                    ),
                ),
                ("purpose", models.CharField(max_length=10)),
                ("needed_by", models.DateField(blank=True, null=True)),
                (
                    "state",
                    models.CharField(
                        choices=[("begun", "Being built"), ("made", "Made"), ("taken_apart", "Taken apart")],
                        default="begun",
                        max_length=12,
                    ),
                ),
                ("begun_on", models.DateField()),
                (
                    "begun_by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("closed_on", models.DateField(blank=True, null=True)),
            ],
            options={
                "ordering": ["needed_by", "key"],
                "indexes": [models.Index(fields=["organization", "state"], name="kit_by_state")],
                "constraints": [
                    models.UniqueConstraint(fields=("organization", "key"), name="kit_unique_key")
                ],
            },
        ),
        migrations.CreateModel(
            name="HistoricalServiceWindow",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("starts_on", models.DateField()),
                ("ends_on", models.DateField()),
                ("labour_minutes", models.FloatField(blank=True, null=True)),
                (
                    "organization",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="fleet.organization",
                    ),
                ),
                (
                    "machine",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="fleet.machine",
                    ),
                ),
                ("history_id", models.AutoField(primary_key=True, serialize=False)),
                ("history_date", models.DateTimeField(db_index=True)),
                ("history_change_reason", models.CharField(max_length=100, null=True)),
                (
                    "history_type",
                    models.CharField(
                        choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")], max_length=1
                    ),
                ),
                (
                    "history_user",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "verbose_name": "historical service window",
                "verbose_name_plural": "historical service windows",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalPosition",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("entered", models.JSONField(blank=True, default=dict)),
                ("key", models.CharField(max_length=80)),
                ("circuit", models.CharField(blank=True, max_length=120)),
                (
                    "line",
                    models.CharField(
                        blank=True,
                        choices=[("pressure", "Pressure"), ("return", "Return"), ("suction", "Suction")],
                        max_length=10,
                    ),
                ),
                ("fluid", models.CharField(blank=True, max_length=120)),
                ("working_pressure_bar", models.FloatField(blank=True, null=True)),
                ("peak_pressure_bar", models.FloatField(blank=True, null=True)),
                ("fluid_temperature_c", models.FloatField(blank=True, null=True)),
                ("ambient_temperature_c", models.FloatField(blank=True, null=True)),
                ("exposure", models.CharField(blank=True, max_length=60)),
                ("bend_radius_mm", models.FloatField(blank=True, null=True)),
                ("flow_lpm", models.FloatField(blank=True, null=True)),
                ("changeout_minutes", models.FloatField(blank=True, null=True)),
                ("planned_cost", models.DecimalField(blank=True, decimal_places=4, max_digits=16, null=True)),
                ("failure_cost", models.DecimalField(blank=True, decimal_places=4, max_digits=16, null=True)),
                ("critical", models.BooleanField(blank=True, null=True)),
                (
                    "organization",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="fleet.organization",
                    ),
                ),
                (
                    "machine",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="fleet.machine",
                    ),
                ),
                (
                    "design",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="fleet.design",
                    ),
                ),
                ("history_id", models.AutoField(primary_key=True, serialize=False)),
                ("history_date", models.DateTimeField(db_index=True)),
                ("history_change_reason", models.CharField(max_length=100, null=True)),
                (
                    "history_type",
                    models.CharField(
                        choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")], max_length=1
                    ),
                ),
                (
                    "history_user",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "verbose_name": "historical position",
                "verbose_name_plural": "historical positions",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalMeterReading",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("read_on", models.DateField()),
                ("hours", models.FloatField()),
                ("meter_replaced", models.BooleanField(blank=True, null=True)),
                (
                    "organization",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="fleet.organization",
                    ),
                ),
                (
                    "machine",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="fleet.machine",
                    ),
                ),
                ("history_id", models.AutoField(primary_key=True, serialize=False)),
                ("history_date", models.DateTimeField(db_index=True)),
                ("history_change_reason", models.CharField(max_length=100, null=True)),
                (
                    "history_type",
                    models.CharField(
                        choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")], max_length=1
                    ),
                ),
                (
                    "history_user",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "verbose_name": "historical meter reading",
                "verbose_name_plural": "historical meter readings",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="Position",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "organization",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="+", to="fleet.organization"
                    ),
                ),
                ("entered", models.JSONField(blank=True, default=dict)),
                (
                    "machine",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="positions",
                        to="fleet.machine",
                    ),
                ),
                ("key", models.CharField(max_length=80)),
                ("circuit", models.CharField(blank=True, max_length=120)),
                (
                    "line",
                    models.CharField(
                        blank=True,
                        choices=[("pressure", "Pressure"), ("return", "Return"), ("suction", "Suction")],
                        max_length=10,
                    ),
                ),
                (
                    "design",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="positions",
                        to="fleet.design",
                    ),
                ),
                ("fluid", models.CharField(blank=True, max_length=120)),
                ("working_pressure_bar", models.FloatField(blank=True, null=True)),
                ("peak_pressure_bar", models.FloatField(blank=True, null=True)),
                ("fluid_temperature_c", models.FloatField(blank=True, null=True)),
                ("ambient_temperature_c", models.FloatField(blank=True, null=True)),
                ("exposure", models.CharField(blank=True, max_length=60)),
                ("bend_radius_mm", models.FloatField(blank=True, null=True)),
                ("flow_lpm", models.FloatField(blank=True, null=True)),
                ("changeout_minutes", models.FloatField(blank=True, null=True)),
                ("planned_cost", models.DecimalField(blank=True, decimal_places=4, max_digits=16, null=True)),
                ("failure_cost", models.DecimalField(blank=True, decimal_places=4, max_digits=16, null=True)),
                ("critical", models.BooleanField(blank=True, null=True)),
            ],
            options={
                "ordering": ["machine", "key"],
                "constraints": [
                    models.UniqueConstraint(fields=("machine", "key"), name="position_unique_key"),
                    models.CheckConstraint(
                        condition=models.Q(("working_pressure_bar__gte", 0)),
                        name="position_working_pressure_not_negative",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("peak_pressure_bar__gte", 0)),
                        name="position_peak_pressure_not_negative",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("changeout_minutes__gte", 0)),
                        name="position_minutes_not_negative",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("planned_cost__gte", 0)),
                        name="position_planned_cost_not_negative",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("failure_cost__gte", 0)),
                        name="position_failure_cost_not_negative",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Assembly",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "organization",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="+", to="fleet.organization"
                    ),
                ),
                ("key", models.CharField(max_length=80)),
                (
                    "design",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="assemblies",
                        to="fleet.design",
                    ),
                ),
                (
                    "position",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="assemblies",
                        to="fleet.position",
                    ),
                ),
                ("built_on", models.DateField(blank=True, null=True)),
                ("hose_made_on", models.DateField(blank=True, null=True)),
                ("hose_lot", models.CharField(blank=True, max_length=80)),
                ("crimped_by", models.CharField(blank=True, max_length=120)),
                ("installed_on", models.DateField(blank=True, null=True)),
                ("installed_hours", models.FloatField(blank=True, null=True)),
                ("removed_on", models.DateField(blank=True, null=True)),
                ("removed_hours", models.FloatField(blank=True, null=True)),
                (
                    "removal_cause",
                    models.CharField(
                        blank=True,
                        choices=[
                            ("failed", "Failed in service"),
                            ("worn", "Found worn"),
                            ("planned", "Planned changeout"),
                            ("damaged", "Damaged from outside"),
                            ("machine_retired", "Machine retired"),
                            ("unknown", "Not known"),
                        ],
                        max_length=16,
                    ),
                ),
                ("failure_mode", models.CharField(blank=True, max_length=200)),
            ],
            options={
                "verbose_name_plural": "assemblies",
                "ordering": ["key"],
                "indexes": [
                    models.Index(fields=["organization", "removed_on"], name="assembly_by_removal"),
                    models.Index(fields=["organization", "hose_lot"], name="assembly_by_lot"),
                    models.Index(
                        condition=models.Q(("position__isnull", False), ("removed_on", None)),
                        fields=["organization", "hose_lot"],
                        name="assembly_lot_in_place",
                    ),
                    models.Index(
                        condition=models.Q(("position__isnull", False), ("removed_on", None)),
                        fields=["organization", "design"],
                        name="assembly_design_in_place",
                    ),
                    models.Index(fields=["organization", "crimped_by"], name="assembly_by_crimper"),
                ],
                "constraints": [
                    models.UniqueConstraint(fields=("organization", "key"), name="assembly_unique_key"),
                    models.UniqueConstraint(
                        condition=models.Q(("position__isnull", False), ("removed_on", None)),
                        fields=("position",),
                        name="assembly_one_in_a_position",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("installed_on", None), ("position", None)),
                            models.Q(("installed_on__isnull", False), ("position__isnull", False)),
                            _connector="OR",
                        ),
                        name="assembly_installed_somewhere_on_a_day",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("removed_on", None), ("installed_on__isnull", False), _connector="OR"
                        ),
                        name="assembly_removed_only_if_installed",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("removed_on__gte", models.F("installed_on"))),
                        name="assembly_removed_after_installed",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("built_on__lte", models.F("installed_on"))),
                        name="assembly_built_before_installed",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("installed_hours__gte", 0)),
                        name="assembly_installed_hours_not_negative",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("removed_hours__gte", 0)),
                        name="assembly_removed_hours_not_negative",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Build",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "organization",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="+", to="fleet.organization"
                    ),
                ),
                ("entered", models.JSONField(blank=True, default=dict)),
                (
                    "assembly",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.CASCADE, related_name="build", to="fleet.assembly"
                    ),
                ),
                (
                    "design",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="builds", to="fleet.design"
                    ),
                ),
                ("built_on", models.DateField()),
                ("built_by", models.CharField(blank=True, max_length=120)),
                ("kit", models.CharField(blank=True, max_length=200)),
                ("hose_lot", models.CharField(blank=True, max_length=80)),
                ("end_a_lot", models.CharField(blank=True, max_length=80)),
                ("end_b_lot", models.CharField(blank=True, max_length=80)),
                ("cut_length_mm", models.FloatField(blank=True, null=True)),
                ("insertion_a_seen", models.BooleanField(blank=True, null=True)),
                ("insertion_b_seen", models.BooleanField(blank=True, null=True)),
                ("cleanings_before", models.PositiveIntegerField(blank=True, null=True)),
                ("cleanings_after", models.PositiveIntegerField(blank=True, null=True)),
                ("gauge", models.CharField(blank=True, max_length=80)),
                ("die", models.CharField(blank=True, max_length=80)),
                ("proof_pressure_bar", models.FloatField(blank=True, null=True)),
                ("proof_seconds", models.FloatField(blank=True, null=True)),
                ("accepted", models.BooleanField(blank=True, null=True)),
                ("accepted_by", models.CharField(blank=True, max_length=120)),
                ("chart", models.CharField(blank=True, max_length=120)),
                ("proof_medium", models.CharField(blank=True, max_length=80)),
                ("remarks", models.CharField(blank=True, max_length=300)),
            ],
            options={
                "ordering": ["assembly"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("cut_length_mm__gte", 0)), name="build_cut_not_negative"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("proof_pressure_bar__gte", 0)), name="build_proof_not_negative"
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="HistoricalInspectionRequest",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("asked_on", models.DateField()),
                ("by_day", models.DateField()),
                ("reason", models.CharField(max_length=300)),
                ("withdrawn_on", models.DateField(blank=True, null=True)),
                (
                    "organization",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="fleet.organization",
                    ),
                ),
                (
                    "assembly",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="fleet.assembly",
                    ),
                ),
                (
                    "asked_by",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("history_id", models.AutoField(primary_key=True, serialize=False)),
                ("history_date", models.DateTimeField(db_index=True)),
                ("history_change_reason", models.CharField(max_length=100, null=True)),
                (
                    "history_type",
                    models.CharField(
                        choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")], max_length=1
                    ),
                ),
                (
                    "history_user",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "verbose_name": "historical inspection request",
                "verbose_name_plural": "historical inspection requests",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalInspection",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("inspected_on", models.DateField()),
                ("hours", models.FloatField(blank=True, null=True)),
                ("finding", models.CharField(blank=True, max_length=300)),
                (
                    "grade",
                    models.CharField(
                        choices=[("fit", "Fit"), ("watch", "Watch"), ("replace", "Replace")], max_length=8
                    ),
                ),
                (
                    "organization",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="fleet.organization",
                    ),
                ),
                (
                    "assembly",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="fleet.assembly",
                    ),
                ),
                ("history_id", models.AutoField(primary_key=True, serialize=False)),
                ("history_date", models.DateTimeField(db_index=True)),
                ("history_change_reason", models.CharField(max_length=100, null=True)),
                (
                    "history_type",
                    models.CharField(
                        choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")], max_length=1
                    ),
                ),
                (
                    "history_user",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "verbose_name": "historical inspection",
                "verbose_name_plural": "historical inspections",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalCrimpReading",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("entered", models.JSONField(blank=True, default=dict)),
                ("end", models.CharField(choices=[("a", "End a"), ("b", "End b")], max_length=1)),
                ("number", models.PositiveIntegerField()),
                ("diameter_mm", models.FloatField()),
                (
                    "organization",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="fleet.organization",
                    ),
                ),
                (
                    "build",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="fleet.build",
                    ),
                ),
                ("history_id", models.AutoField(primary_key=True, serialize=False)),
                ("history_date", models.DateTimeField(db_index=True)),
                ("history_change_reason", models.CharField(max_length=100, null=True)),
                (
                    "history_type",
                    models.CharField(
                        choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")], max_length=1
                    ),
                ),
                (
                    "history_user",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "verbose_name": "historical crimp reading",
                "verbose_name_plural": "historical crimp readings",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalChangeoutDecision",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("keep", "Keep as announced"),
                            ("not_before", "Not before a day"),
                            ("not_after", "Not after a day"),
                            ("refuse", "Do not change it"),
                        ],
                        max_length=10,
                    ),
                ),
                ("day", models.DateField(blank=True, null=True)),
                ("reason", models.CharField(blank=True, max_length=300)),
                ("decided_on", models.DateField()),
                ("withdrawn_on", models.DateField(blank=True, null=True)),
                (
                    "organization",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="fleet.organization",
                    ),
                ),
                (
                    "assembly",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="fleet.assembly",
                    ),
                ),
                (
                    "decided_by",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("history_id", models.AutoField(primary_key=True, serialize=False)),
                ("history_date", models.DateTimeField(db_index=True)),
                ("history_change_reason", models.CharField(max_length=100, null=True)),
                (
                    "history_type",
                    models.CharField(
                        choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")], max_length=1
                    ),
                ),
                (
                    "history_user",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "verbose_name": "historical changeout decision",
                "verbose_name_plural": "historical changeout decisions",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalBuild",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("entered", models.JSONField(blank=True, default=dict)),
                ("built_on", models.DateField()),
                ("built_by", models.CharField(blank=True, max_length=120)),
                ("kit", models.CharField(blank=True, max_length=200)),
                ("hose_lot", models.CharField(blank=True, max_length=80)),
                ("end_a_lot", models.CharField(blank=True, max_length=80)),
                ("end_b_lot", models.CharField(blank=True, max_length=80)),
                ("cut_length_mm", models.FloatField(blank=True, null=True)),
                ("insertion_a_seen", models.BooleanField(blank=True, null=True)),
                ("insertion_b_seen", models.BooleanField(blank=True, null=True)),
                ("cleanings_before", models.PositiveIntegerField(blank=True, null=True)),
                ("cleanings_after", models.PositiveIntegerField(blank=True, null=True)),
                ("gauge", models.CharField(blank=True, max_length=80)),
                ("die", models.CharField(blank=True, max_length=80)),
                ("proof_pressure_bar", models.FloatField(blank=True, null=True)),
                ("proof_seconds", models.FloatField(blank=True, null=True)),
                ("accepted", models.BooleanField(blank=True, null=True)),
                ("accepted_by", models.CharField(blank=True, max_length=120)),
                ("chart", models.CharField(blank=True, max_length=120)),
                ("proof_medium", models.CharField(blank=True, max_length=80)),
                ("remarks", models.CharField(blank=True, max_length=300)),
                (
                    "organization",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="fleet.organization",
                    ),
                ),
                (
                    "assembly",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="fleet.assembly",
                    ),
                ),
                (
                    "design",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="fleet.design",
                    ),
                ),
                ("history_id", models.AutoField(primary_key=True, serialize=False)),
                ("history_date", models.DateTimeField(db_index=True)),
                ("history_change_reason", models.CharField(max_length=100, null=True)),
                (
                    "history_type",
                    models.CharField(
                        choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")], max_length=1
                    ),
                ),
                (
                    "history_user",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "verbose_name": "historical build",
                "verbose_name_plural": "historical builds",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="KitAssembly",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "organization",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="+", to="fleet.organization"
                    ),
                ),
                (
                    "kit",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="assemblies", to="fleet.kit"
                    ),
                ),
                ("number", models.PositiveIntegerField()),
                (
                    "design",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="kit_assemblies",
                        to="fleet.design",
                    ),
                ),
                (
                    "position",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="kit_assemblies",
                        to="fleet.position",
                    ),
                ),
                (
                    "assembly",
                    models.OneToOneField(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="kit_assembly",
                        to="fleet.assembly",
                    ),
                ),
            ],
            options={
                "verbose_name_plural": "kit assemblies",
                "ordering": ["kit", "number"],
                "constraints": [
                    models.UniqueConstraint(fields=("kit", "number"), name="kit_assembly_unique_number")
                ],
            },
        ),
        migrations.CreateModel(
            name="HistoricalKitAssembly",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("number", models.PositiveIntegerField()),
                (
                    "organization",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="fleet.organization",
                    ),
                ),
                (
                    "kit",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="fleet.kit",
                    ),
                ),
                (
                    "design",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="fleet.design",
                    ),
                ),
                (
                    "position",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="fleet.position",
                    ),
                ),
                (
                    "assembly",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="fleet.assembly",
                    ),
                ),
                ("history_id", models.AutoField(primary_key=True, serialize=False)),
                ("history_date", models.DateTimeField(db_index=True)),
                ("history_change_reason", models.CharField(max_length=100, null=True)),
                (
                    "history_type",
                    models.CharField(
                        choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")], max_length=1
                    ),
                ),
                (
                    "history_user",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "verbose_name": "historical kit assembly",
                "verbose_name_plural": "historical kit assemblies",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalAssembly",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("key", models.CharField(max_length=80)),
                ("built_on", models.DateField(blank=True, null=True)),
                ("hose_made_on", models.DateField(blank=True, null=True)),
                ("hose_lot", models.CharField(blank=True, max_length=80)),
                ("crimped_by", models.CharField(blank=True, max_length=120)),
                ("installed_on", models.DateField(blank=True, null=True)),
                ("installed_hours", models.FloatField(blank=True, null=True)),
                ("removed_on", models.DateField(blank=True, null=True)),
                ("removed_hours", models.FloatField(blank=True, null=True)),
                (
                    "removal_cause",
                    models.CharField(
                        blank=True,
                        choices=[
                            ("failed", "Failed in service"),
                            ("worn", "Found worn"),
                            ("planned", "Planned changeout"),
                            ("damaged", "Damaged from outside"),
                            ("machine_retired", "Machine retired"),
                            ("unknown", "Not known"),
                        ],
                        max_length=16,
                    ),
                ),
                ("failure_mode", models.CharField(blank=True, max_length=200)),
                (
                    "organization",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="fleet.organization",
                    ),
                ),
                (
                    "design",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="fleet.design",
                    ),
                ),
                (
                    "position",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="fleet.position",
                    ),
                ),
                ("history_id", models.AutoField(primary_key=True, serialize=False)),
                ("history_date", models.DateTimeField(db_index=True)),
                ("history_change_reason", models.CharField(max_length=100, null=True)),
                (
                    "history_type",
                    models.CharField(
                        choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")], max_length=1
                    ),
                ),
                (
                    "history_user",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "verbose_name": "historical assembly",
                "verbose_name_plural": "historical assemblies",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="ServiceWindow",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "organization",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="+", to="fleet.organization"
                    ),
                ),
                (
                    "machine",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="windows",
                        to="fleet.machine",
                    ),
                ),
                ("starts_on", models.DateField()),
                ("ends_on", models.DateField()),
                ("labour_minutes", models.FloatField(blank=True, null=True)),
            ],
            options={
                "ordering": ["machine", "starts_on"],
                "constraints": [
                    models.UniqueConstraint(fields=("machine", "starts_on"), name="window_unique_start"),
                    models.CheckConstraint(
                        condition=models.Q(("ends_on__gte", models.F("starts_on"))),
                        name="window_ends_after_start",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("labour_minutes__gte", 0)), name="window_labour_not_negative"
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="OpenOrder",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "organization",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="+", to="fleet.organization"
                    ),
                ),
                ("order", models.CharField(max_length=80)),
                (
                    "part",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="open_orders",
                        to="fleet.part",
                    ),
                ),
                (
                    "site",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="open_orders",
                        to="fleet.site",
                    ),
                ),
                ("quantity", models.FloatField()),
                ("expected_on", models.DateField(blank=True, null=True)),
            ],
            options={
                "ordering": ["order", "part", "site"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("organization", "order", "part", "site"), name="order_unique_line"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("quantity__gte", 0)), name="order_not_negative"
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="HistoricalStockPiece",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("entered", models.JSONField(blank=True, default=dict)),
                ("piece", models.CharField(blank=True, max_length=80)),
                ("lot", models.CharField(blank=True, max_length=80)),
                ("on_hand", models.FloatField()),
                ("made_on", models.DateField(blank=True, null=True)),
                (
                    "organization",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="fleet.organization",
                    ),
                ),
                (
                    "part",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="fleet.part",
                    ),
                ),
                (
                    "site",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="fleet.site",
                    ),
                ),
                ("history_id", models.AutoField(primary_key=True, serialize=False)),
                ("history_date", models.DateTimeField(db_index=True)),
                ("history_change_reason", models.CharField(max_length=100, null=True)),
                (
                    "history_type",
                    models.CharField(
                        choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")], max_length=1
                    ),
                ),
                (
                    "history_user",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "verbose_name": "historical stock piece",
                "verbose_name_plural": "historical stock pieces",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalSiteLabour",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("starts_on", models.DateField()),
                ("ends_on", models.DateField()),
                ("labour_minutes", models.FloatField()),
                (
                    "organization",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="fleet.organization",
                    ),
                ),
                (
                    "site",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="fleet.site",
                    ),
                ),
                ("history_id", models.AutoField(primary_key=True, serialize=False)),
                ("history_date", models.DateTimeField(db_index=True)),
                ("history_change_reason", models.CharField(max_length=100, null=True)),
                (
                    "history_type",
                    models.CharField(
                        choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")], max_length=1
                    ),
                ),
                (
                    "history_user",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "verbose_name": "historical site labour",
                "verbose_name_plural": "historical site labour",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalOpenOrder",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("order", models.CharField(max_length=80)),
                ("quantity", models.FloatField()),
                ("expected_on", models.DateField(blank=True, null=True)),
                (
                    "organization",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="fleet.organization",
                    ),
                ),
                (
                    "part",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="fleet.part",
                    ),
                ),
                (
                    "site",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="fleet.site",
                    ),
                ),
                ("history_id", models.AutoField(primary_key=True, serialize=False)),
                ("history_date", models.DateTimeField(db_index=True)),
                ("history_change_reason", models.CharField(max_length=100, null=True)),
                (
                    "history_type",
                    models.CharField(
                        choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")], max_length=1
                    ),
                ),
                (
                    "history_user",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "verbose_name": "historical open order",
                "verbose_name_plural": "historical open orders",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalMachine",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("key", models.CharField(max_length=80)),
                ("model", models.CharField(blank=True, max_length=200)),
                ("commissioned_on", models.DateField(blank=True, null=True)),
                ("retired_on", models.DateField(blank=True, null=True)),
                ("hours_per_day", models.FloatField(blank=True, null=True)),
                (
                    "downtime_cost_per_hour",
                    models.DecimalField(blank=True, decimal_places=4, max_digits=16, null=True),
                ),
                (
                    "organization",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="fleet.organization",
                    ),
                ),
                (
                    "site",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="fleet.site",
                    ),
                ),
                ("history_id", models.AutoField(primary_key=True, serialize=False)),
                ("history_date", models.DateTimeField(db_index=True)),
                ("history_change_reason", models.CharField(max_length=100, null=True)),
                (
                    "history_type",
                    models.CharField(
                        choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")], max_length=1
                    ),
                ),
                (
                    "history_user",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "verbose_name": "historical machine",
                "verbose_name_plural": "historical machines",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalKit",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("key", models.CharField(max_length=200)),
                ("purpose", models.CharField(max_length=10)),
                ("needed_by", models.DateField(blank=True, null=True)),
                (
                    "state",
                    models.CharField(
                        choices=[("begun", "Being built"), ("made", "Made"), ("taken_apart", "Taken apart")],
                        default="begun",
                        max_length=12,
                    ),
                ),
                ("begun_on", models.DateField()),
                ("closed_on", models.DateField(blank=True, null=True)),
                (
                    "organization",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="fleet.organization",
                    ),
                ),
                (
                    "site",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="fleet.site",
                    ),
                ),
                (
                    "machine",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="fleet.machine",
                    ),
                ),
                (
                    "begun_by",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("history_id", models.AutoField(primary_key=True, serialize=False)),
                ("history_date", models.DateTimeField(db_index=True)),
                ("history_change_reason", models.CharField(max_length=100, null=True)),
                (
                    "history_type",
                    models.CharField(
                        choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")], max_length=1
                    ),
                ),
                (
                    "history_user",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "verbose_name": "historical kit",
                "verbose_name_plural": "historical kits",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="SiteLabour",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "organization",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="+", to="fleet.organization"
                    ),
                ),
                (
                    "site",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="labour", to="fleet.site"
                    ),
                ),
                ("starts_on", models.DateField()),
                ("ends_on", models.DateField()),
                ("labour_minutes", models.FloatField()),
            ],
            options={
                "verbose_name_plural": "site labour",
                "ordering": ["site", "starts_on"],
                "constraints": [
                    models.UniqueConstraint(fields=("site", "starts_on"), name="site_labour_unique_start"),
                    models.CheckConstraint(
                        condition=models.Q(("ends_on__gte", models.F("starts_on"))),
                        name="site_labour_ends_after_start",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("labour_minutes__gte", 0)), name="site_labour_not_negative"
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="StockAdviceLine",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "plan",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="+", to="fleet.plan"
                    ),
                ),
                ("row", models.PositiveIntegerField()),
                ("part", models.CharField(blank=True, default="", max_length=200)),
                ("site", models.CharField(blank=True, default="", max_length=200)),
                ("unit", models.CharField(max_length=8)),
                ("on_hand", models.FloatField()),
                ("on_order", models.FloatField()),
                ("planned_demand", models.FloatField()),
                ("unplanned_demand_mean", models.FloatField()),
                ("lead_time_days", models.FloatField(null=True)),
                ("reorder_point", models.FloatField()),
                ("order_up_to", models.FloatField()),
                ("order_now", models.FloatField()),
                ("service_level", models.FloatField()),
                ("expected_fill_rate", models.FloatField(null=True)),
                ("surplus", models.FloatField()),
                ("expires_unused", models.FloatField()),
                ("why", models.TextField(blank=True)),
                ("demand_low", models.FloatField(default=0.0)),
                ("demand_high", models.FloatField(default=0.0)),
                ("runs_out_on", models.DateField(null=True)),
            ],
            options={
                "ordering": ["plan", "row"],
                "indexes": [
                    models.Index(fields=["plan", "part"], name="stock_advice_by_part"),
                    models.Index(
                        condition=models.Q(("order_now__gt", 0)),
                        fields=["plan", "row"],
                        name="stock_advice_to_order",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="StockPiece",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "organization",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="+", to="fleet.organization"
                    ),
                ),
                ("entered", models.JSONField(blank=True, default=dict)),
                (
                    "part",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="pieces", to="fleet.part"
                    ),
                ),
                (
                    "site",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="pieces", to="fleet.site"
                    ),
                ),
                ("piece", models.CharField(blank=True, max_length=80)),
                ("lot", models.CharField(blank=True, max_length=80)),
                ("on_hand", models.FloatField()),
                ("made_on", models.DateField(blank=True, null=True)),
            ],
            options={
                "ordering": ["part", "site", "piece"],
                "constraints": [
                    models.UniqueConstraint(fields=("part", "site", "piece"), name="stock_unique_piece"),
                    models.CheckConstraint(
                        condition=models.Q(("on_hand__gte", 0)), name="stock_not_negative"
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="KitPart",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "organization",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="+", to="fleet.organization"
                    ),
                ),
                (
                    "kit_assembly",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="parts",
                        to="fleet.kitassembly",
                    ),
                ),
                (
                    "place",
                    models.CharField(
                        choices=[("a", "End a"), ("b", "End b"), ("hose", "Hose")], max_length=4
                    ),
                ),
                (
                    "part",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="kit_parts", to="fleet.part"
                    ),
                ),
                (
                    "substitute_for",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="fleet.part",
                    ),
                ),
                ("quantity", models.FloatField()),
                ("cut_length_mm", models.FloatField(blank=True, null=True)),
                ("kerf_mm", models.FloatField(default=0.0)),
                ("scrap_mm", models.FloatField(default=0.0)),
                (
                    "piece",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="kit_parts",
                        to="fleet.stockpiece",
                    ),
                ),
                ("piece_name", models.CharField(blank=True, max_length=80)),
                ("lot", models.CharField(blank=True, max_length=80)),
                ("made_on", models.DateField(blank=True, null=True)),
                (
                    "state",
                    models.CharField(
                        choices=[("reserved", "Reserved"), ("used", "Used"), ("given_back", "Given back")],
                        default="reserved",
                        max_length=10,
                    ),
                ),
                ("scrapped_because", models.CharField(blank=True, max_length=300)),
            ],
            options={
                "ordering": ["kit_assembly", "pk"],
                "indexes": [
                    models.Index(fields=["organization", "state"], name="kit_part_by_state"),
                    models.Index(fields=["organization", "lot"], name="kit_part_by_lot"),
                ],
                "constraints": [
                    models.CheckConstraint(condition=models.Q(("quantity__gt", 0)), name="kit_part_positive"),
                    models.CheckConstraint(
                        condition=models.Q(("kerf_mm__gte", 0), ("scrap_mm__gte", 0)),
                        name="kit_part_loss_not_negative",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("state", "reserved"), _negated=True),
                            ("piece__isnull", False),
                            _connector="OR",
                        ),
                        name="kit_part_reserved_of_a_piece",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="HistoricalKitPart",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                (
                    "place",
                    models.CharField(
                        choices=[("a", "End a"), ("b", "End b"), ("hose", "Hose")], max_length=4
                    ),
                ),
                ("quantity", models.FloatField()),
                ("cut_length_mm", models.FloatField(blank=True, null=True)),
                ("kerf_mm", models.FloatField(default=0.0)),
                ("scrap_mm", models.FloatField(default=0.0)),
                ("piece_name", models.CharField(blank=True, max_length=80)),
                ("lot", models.CharField(blank=True, max_length=80)),
                ("made_on", models.DateField(blank=True, null=True)),
                (
                    "state",
                    models.CharField(
                        choices=[("reserved", "Reserved"), ("used", "Used"), ("given_back", "Given back")],
                        default="reserved",
                        max_length=10,
                    ),
                ),
                ("scrapped_because", models.CharField(blank=True, max_length=300)),
                (
                    "organization",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="fleet.organization",
                    ),
                ),
                (
                    "kit_assembly",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="fleet.kitassembly",
                    ),
                ),
                (
                    "part",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="fleet.part",
                    ),
                ),
                (
                    "substitute_for",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="fleet.part",
                    ),
                ),
                (
                    "piece",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="fleet.stockpiece",
                    ),
                ),
                ("history_id", models.AutoField(primary_key=True, serialize=False)),
                ("history_date", models.DateTimeField(db_index=True)),
                ("history_change_reason", models.CharField(max_length=100, null=True)),
                (
                    "history_type",
                    models.CharField(
                        choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")], max_length=1
                    ),
                ),
                (
                    "history_user",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "verbose_name": "historical kit part",
                "verbose_name_plural": "historical kit parts",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="SuspectLine",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "plan",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="+", to="fleet.plan"
                    ),
                ),
                ("row", models.PositiveIntegerField()),
                ("kind", models.CharField(max_length=16)),
                ("name", models.CharField(blank=True, default="", max_length=200)),
                ("lives", models.PositiveIntegerField()),
                ("failures", models.PositiveIntegerField()),
                ("expected", models.FloatField()),
                ("ratio", models.FloatField()),
                ("ratio_low", models.FloatField()),
                ("ratio_high", models.FloatField()),
                ("q_value", models.FloatField()),
                ("installed_now", models.PositiveIntegerField()),
                ("explained_by", models.CharField(blank=True, default="", max_length=200)),
            ],
            options={
                "ordering": ["plan", "row"],
            },
        ),
        migrations.CreateModel(
            name="TransferLine",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "plan",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="+", to="fleet.plan"
                    ),
                ),
                ("row", models.PositiveIntegerField()),
                ("part", models.CharField(blank=True, default="", max_length=200)),
                ("from_site", models.CharField(blank=True, default="", max_length=200)),
                ("to_site", models.CharField(blank=True, default="", max_length=200)),
                ("quantity", models.FloatField()),
                ("why", models.TextField(blank=True)),
            ],
            options={
                "ordering": ["plan", "row"],
            },
        ),
        migrations.CreateModel(
            name="WhatIf",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "organization",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="what_ifs",
                        to="fleet.organization",
                    ),
                ),
                (
                    "state",
                    models.CharField(
                        choices=[
                            ("requested", "Requested"),
                            ("running", "Running"),
                            ("done", "Done"),
                            ("failed", "Failed"),
                        ],
                        default="requested",
                        max_length=10,
                    ),
                ),
                ("as_of", models.DateField()),
                ("policies", models.TextField()),
                ("requested_at", models.DateTimeField(auto_now_add=True)),
                (
                    "requested_by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("started_at", models.DateTimeField(blank=True, null=True)),
                (
                    "seen_at",
                    models.DateTimeField(
                        blank=True, help_text="last sign of life of a running job", null=True
                    ),
                ),
                ("finished_at", models.DateTimeField(blank=True, null=True)),
                ("progress", models.CharField(blank=True, max_length=200)),
                ("failure", models.TextField(blank=True)),
                ("comparison", models.JSONField(blank=True, default=list)),
            ],
            options={
                "ordering": ["-requested_at", "-pk"],
                "indexes": [models.Index(fields=["organization", "-requested_at"], name="what_if_newest")],
            },
        ),
        migrations.CreateModel(
            name="MeterReading",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "organization",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="+", to="fleet.organization"
                    ),
                ),
                (
                    "machine",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="readings",
                        to="fleet.machine",
                    ),
                ),
                ("read_on", models.DateField()),
                ("hours", models.FloatField()),
                ("meter_replaced", models.BooleanField(blank=True, null=True)),
            ],
            options={
                "ordering": ["machine", "read_on"],
                "constraints": [
                    models.UniqueConstraint(fields=("machine", "read_on"), name="reading_one_a_day"),
                    models.CheckConstraint(
                        condition=models.Q(("hours__gte", 0)), name="reading_not_negative"
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Membership",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "user",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="memberships",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "organization",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="memberships",
                        to="fleet.organization",
                    ),
                ),
                (
                    "role",
                    models.CharField(
                        choices=[
                            ("viewer", "Viewer"),
                            ("shop", "Shop"),
                            ("planner", "Planner"),
                            ("manager", "Manager"),
                            ("owner", "Owner"),
                        ],
                        default="viewer",
                        max_length=10,
                    ),
                ),
            ],
            options={
                "ordering": ["organization", "user"],
                "constraints": [
                    models.UniqueConstraint(fields=("user", "organization"), name="one_membership_each")
                ],
            },
        ),
        migrations.CreateModel(
            name="InspectionRequest",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "organization",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="+", to="fleet.organization"
                    ),
                ),
                (
                    "assembly",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="inspection_requests",
                        to="fleet.assembly",
                    ),
                ),
                ("asked_on", models.DateField()),
                ("by_day", models.DateField()),
                ("reason", models.CharField(max_length=300)),
                (
                    "asked_by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("withdrawn_on", models.DateField(blank=True, null=True)),
            ],
            options={
                "ordering": ["by_day", "assembly"],
                "indexes": [
                    models.Index(fields=["organization", "by_day"], name="inspection_request_by_day")
                ],
            },
        ),
        migrations.CreateModel(
            name="Inspection",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "organization",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="+", to="fleet.organization"
                    ),
                ),
                (
                    "assembly",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="inspections",
                        to="fleet.assembly",
                    ),
                ),
                ("inspected_on", models.DateField()),
                ("hours", models.FloatField(blank=True, null=True)),
                ("finding", models.CharField(blank=True, max_length=300)),
                (
                    "grade",
                    models.CharField(
                        choices=[("fit", "Fit"), ("watch", "Watch"), ("replace", "Replace")], max_length=8
                    ),
                ),
            ],
            options={
                "ordering": ["assembly", "inspected_on"],
                "constraints": [
                    models.UniqueConstraint(fields=("assembly", "inspected_on"), name="inspection_one_a_day"),
                    models.CheckConstraint(
                        condition=models.Q(("hours__gte", 0)), name="inspection_hours_not_negative"
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="CrimpReading",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "organization",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="+", to="fleet.organization"
                    ),
                ),
                ("entered", models.JSONField(blank=True, default=dict)),
                (
                    "build",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="crimp_readings",
                        to="fleet.build",
                    ),
                ),
                ("end", models.CharField(choices=[("a", "End a"), ("b", "End b")], max_length=1)),
                ("number", models.PositiveIntegerField()),
                ("diameter_mm", models.FloatField()),
            ],
            options={
                "ordering": ["build", "end", "number"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("build", "end", "number"), name="crimp_reading_unique_number"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("diameter_mm__gt", 0)), name="crimp_reading_positive"
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="ColumnMapping",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "organization",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="+", to="fleet.organization"
                    ),
                ),
                ("name", models.CharField(max_length=120)),
                ("columns", models.JSONField(default=dict)),
                ("constants", models.JSONField(blank=True, default=dict)),
                ("day_order", models.CharField(blank=True, max_length=5)),
            ],
            options={
                "ordering": ["name"],
                "constraints": [
                    models.UniqueConstraint(fields=("organization", "name"), name="mapping_unique_name")
                ],
            },
        ),
        migrations.CreateModel(
            name="ChosenAgeRule",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "organization",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="+", to="fleet.organization"
                    ),
                ),
                ("rule", models.CharField(max_length=100)),
            ],
            options={
                "ordering": ["organization"],
                "constraints": [models.UniqueConstraint(fields=("organization",), name="one_age_rule_each")],
            },
        ),
        migrations.CreateModel(
            name="ChangeoutDecision",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "organization",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="+", to="fleet.organization"
                    ),
                ),
                (
                    "assembly",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="decisions",
                        to="fleet.assembly",
                    ),
                ),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("keep", "Keep as announced"),
                            ("not_before", "Not before a day"),
                            ("not_after", "Not after a day"),
                            ("refuse", "Do not change it"),
                        ],
                        max_length=10,
                    ),
                ),
                ("day", models.DateField(blank=True, null=True)),
                ("reason", models.CharField(blank=True, max_length=300)),
                ("decided_on", models.DateField()),
                (
                    "decided_by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("withdrawn_on", models.DateField(blank=True, null=True)),
            ],
            options={
                "ordering": ["assembly", "pk"],
                "constraints": [
                    models.UniqueConstraint(
                        condition=models.Q(("withdrawn_on", None)),
                        fields=("assembly",),
                        name="decision_one_stands",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("day", None), ("kind", "refuse")),
                            models.Q(
                                models.Q(("kind", "refuse"), _negated=True),
                                models.Q(("day", None), _negated=True),
                            ),
                            _connector="OR",
                        ),
                        name="decision_has_its_day",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("kind", "refuse"), _negated=True),
                            models.Q(("reason", ""), _negated=True),
                            _connector="OR",
                        ),
                        name="decision_refusal_has_a_reason",
                    ),
                ],
            },
        ),
    ]
    operations = [CreateModels(operations)]
