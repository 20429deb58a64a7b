import django.db.models.deletion
import inventory.migrations._tables
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    initial = True

    dependencies = [
        ('inventory', '0001_initial'),
    ]

    operations = [
        inventory.migrations._tables.CreateTables(
            tables=[
                migrations.CreateModel(
                    name='CheckerDuty',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('site', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='checkers', to='inventory.site')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                        ('person', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                        ('weekdays', models.JSONField(default=list, help_text='0 is Monday; empty for who stands in')),
                        ('stands_in', models.BooleanField(default=False)),
                    ],
                ),
                migrations.CreateModel(
                    name='CribTool',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('site', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='tools', to='inventory.site')),
                        ('tool', models.CharField(max_length=80)),
                        ('count', models.PositiveIntegerField()),
                    ],
                    options={
                        'constraints': [models.UniqueConstraint(fields=('site', 'tool'), name='crib_tool_once')],
                    },
                ),
                migrations.CreateModel(
                    name='EngineFamily',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('code', models.CharField(max_length=40, unique=True)),
                        ('name', models.CharField(max_length=200)),
                        ('prefix', models.CharField(help_text='what its engine numbers begin with', max_length=20, unique=True)),
                        ('width', models.PositiveIntegerField(default=1, help_text='digits written after the prefix')),
                    ],
                ),
                migrations.CreateModel(
                    name='Gauge',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('number', models.CharField(max_length=40, unique=True)),
                        ('name', models.CharField(max_length=200)),
                        ('kind', models.CharField(help_text="height gauge, bore gauge, scales, … in the shop's words", max_length=60)),
                        ('measures', models.CharField(help_text='length, mass, angle, …: a dimension of the table of units', max_length=20)),
                        ('low', models.BigIntegerField()),
                        ('high', models.BigIntegerField()),
                        ('resolution', models.BigIntegerField()),
                        ('uncertainty', models.BigIntegerField(help_text='standard uncertainty (1 sigma), rounded up')),
                        ('typed', models.JSONField(help_text='low, high, resolution, uncertainty as typed')),
                        ('expansion_ppm', models.CharField(blank=True, help_text='per kelvin, exact decimal; empty: unknown', max_length=10)),
                        ('site', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='gauges', to='inventory.site')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                    ],
                    options={
                        'permissions': [('act_gauge', 'enter gauges, their calibrations, studies and ends')],
                        'constraints': [models.CheckConstraint(condition=models.Q(('high__gte', models.F('low'))), name='gauge_range_not_turned'), models.CheckConstraint(condition=models.Q(('resolution__gt', 0)), name='gauge_resolution_positive'), models.CheckConstraint(condition=models.Q(('uncertainty__gt', 0)), name='gauge_uncertainty_positive')],
                    },
                ),
                migrations.CreateModel(
                    name='Calibration',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('gauge', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='calibrations', to='kits.gauge')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                        ('done_on', models.DateField()),
                        ('next_due', models.DateField()),
                        ('passed', models.BooleanField()),
                        ('master', models.CharField(help_text='number or name of the master it was held against', max_length=200)),
                        ('done_by', models.CharField(help_text='who or which laboratory did it', max_length=200)),
                        ('uncertainty', models.BigIntegerField(blank=True, help_text='1 sigma as found, rounded up; empty: as before', null=True)),
                        ('uncertainty_typed', models.CharField(blank=True, max_length=40)),
                        ('result', models.TextField(blank=True)),
                        ('certificate', models.CharField(blank=True, max_length=200)),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(('next_due__gte', models.F('done_on'))), name='calibration_due_after_done'), models.CheckConstraint(condition=models.Q(('uncertainty__isnull', True), ('uncertainty__gt', 0), _connector='OR'), name='calibration_uncertainty_positive')],
                    },
                ),
                migrations.CreateModel(
                    name='Engine',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('number', models.CharField(max_length=40, unique=True)),
                        ('family', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='engines', to='kits.enginefamily')),
                        ('digits', models.BigIntegerField(help_text='the digits after the prefix, compared as a whole number')),
                        ('place', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='engine', to='inventory.place')),
                        ('owner', models.ForeignKey(blank=True, help_text='now: the newest of `EngineOwner` by day', null=True, on_delete=django.db.models.deletion.PROTECT, related_name='engines', to='inventory.owner')),
                        ('field_modified', models.BooleanField(default=False, help_text='changed in the field: number ranges need a person')),
                        ('classed', models.BooleanField(default=False, help_text='under the rules of a class society: its owner agrees to substitutes')),
                    ],
                ),
                migrations.CreateModel(
                    name='FamilyRevision',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('family', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='revisions', to='kits.enginefamily')),
                        ('revision', models.PositiveIntegerField()),
                        ('document', models.JSONField()),
                        ('digest', models.CharField(max_length=64)),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                        ('makers_stop', models.CharField(blank=True, help_text="the maker's bulletin that forces it; empty: nobody forces it", max_length=200)),
                    ],
                    options={
                        'constraints': [models.UniqueConstraint(fields=('family', 'revision'), name='family_revision_once')],
                    },
                ),
                migrations.CreateModel(
                    name='GaugeStudy',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('gauge', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='studies', to='kits.gauge')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                        ('document', models.JSONField()),
                    ],
                ),
                migrations.CreateModel(
                    name='GaugeWithdrawal',
                    fields=[
                        ('gauge', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='withdrawal', serialize=False, to='kits.gauge')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                        ('reason', models.TextField()),
                    ],
                ),
                migrations.CreateModel(
                    name='Procedure',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('family', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='procedures', to='kits.enginefamily')),
                        ('code', models.CharField(max_length=40, unique=True)),
                        ('name', models.CharField(max_length=200)),
                    ],
                ),
                migrations.CreateModel(
                    name='EngineOwner',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('act', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                        ('engine', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='owners', to='kits.engine')),
                        ('owner', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.owner')),
                        ('since', models.DateField()),
                    ],
                ),
                migrations.CreateModel(
                    name='Job',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('number', models.CharField(max_length=40, unique=True)),
                        ('engine', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='jobs', to='kits.engine')),
                        ('site', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='jobs', to='inventory.site')),
                        ('family_revision', models.ForeignKey(db_index=False, help_text='booked with it; or the newest that was taken over, each by a row of its own', on_delete=django.db.models.deletion.PROTECT, related_name='+', to='kits.familyrevision')),
                        ('cart', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='job_of_cart', to='inventory.place')),
                        ('bench', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='job_of_bench', to='inventory.place')),
                        ('state', models.CharField(choices=[('booked', 'Booked'), ('closed', 'Closed'), ('cancelled', 'Cancelled')], default='booked', max_length=10)),
                        ('strip_on', models.DateField()),
                        ('fit_on', models.DateField(help_text='planned day of fitting: lots must be good beyond it')),
                        ('complaint', models.TextField(blank=True)),
                        ('note', models.TextField(blank=True)),
                        ('hours', models.DecimalField(blank=True, decimal_places=1, help_text='meter at arrival', max_digits=10, null=True)),
                        ('kilometres', models.PositiveIntegerField(blank=True, help_text='at arrival', null=True)),
                        ('booked_by', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                        ('version', models.PositiveIntegerField(default=1)),
                    ],
                    options={
                        'permissions': [('act_procedure', 'enter families and procedures'), ('act_book', 'book jobs'), ('act_finding', 'record findings'), ('act_approve', "record the owner's word on extra work"), ('act_choose', 'make an either/or or measured choice'), ('act_outside', 'send work outside'), ('act_date', 'move the day of fitting'), ('act_hold', 'hold stock for a job'), ('act_release', 'give up a hold'), ('act_ask_loan', 'ask for what is held for another job'), ('act_answer_loan', 'consent to lend what is held for a job'), ('act_lend', 'lend what is held for a job to another'), ('act_pick', 'pick'), ('act_hand_over', 'hand a cart over'), ('act_ask_more', 'ask for one more in mid-job'), ('act_find', 'record parts found in an engine'), ('act_remove', 'remove parts from an engine'), ('act_origin', "enter the maker's word on a part of unknown place"), ('act_inspect', 'inspect parts to be used again'), ('act_fit', 'fit parts'), ('act_check', 'check what another fitted'), ('act_return', 'return what is left'), ('act_overrule_return', 'overrule the returns table'), ('act_scrap', 'scrap on a job'), ('act_close', 'close jobs'), ('act_cancel', 'cancel jobs'), ('act_test_engine', 'record leak tests, first runs and what follows them'), ('act_name_checker', 'say who checks at a site')],
                        'constraints': [models.CheckConstraint(condition=models.Q(('fit_on__gte', models.F('strip_on'))), name='job_fitted_after_strip')],
                    },
                ),
                migrations.CreateModel(
                    name='MeterReading',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('engine', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='meter_readings', to='kits.engine')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                        ('meter', models.CharField(choices=[('hours', 'hours'), ('kilometres', 'kilometres')], max_length=10)),
                        ('moment', models.CharField(help_text='arrival, hand-over, claim, or meter change', max_length=12)),
                        ('read_on', models.DateField()),
                        ('amount', models.BigIntegerField(help_text='seconds or metres: what the meter showed, a changed one when it came out')),
                        ('begins', models.BigIntegerField(blank=True, help_text='only for a change: what the new meter began at, seconds or metres', null=True)),
                        ('photo_ref', models.CharField(blank=True, help_text='where the photograph is kept; empty: none', max_length=200)),
                        ('asked', models.TextField(blank=True, help_text='what was asked about it; kept all the same, with the reason')),
                    ],
                    options={
                        'permissions': [('act_read_meter', 'read and change meters of engines')],
                        'constraints': [models.CheckConstraint(condition=models.Q(('amount__gte', 0)), name='meter_reading_not_negative'), models.CheckConstraint(condition=models.Q(models.Q(('begins__gte', 0), ('moment', 'meter change')), models.Q(models.Q(('moment', 'meter change'), _negated=True), ('begins__isnull', True)), _connector='OR'), name='meter_begins_only_when_changed')],
                    },
                ),
                migrations.CreateModel(
                    name='ProcedureRevision',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('procedure', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='revisions', to='kits.procedure')),
                        ('revision', models.PositiveIntegerField()),
                        ('document', models.JSONField()),
                        ('digest', models.CharField(max_length=64)),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                        ('makers_stop', models.CharField(blank=True, help_text="the maker's bulletin that forces it; empty: nobody forces it", max_length=200)),
                    ],
                    options={
                        'constraints': [models.UniqueConstraint(fields=('procedure', 'revision'), name='procedure_revision_once')],
                    },
                ),
                migrations.CreateModel(
                    name='AfterRunDone',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('job', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='after_run_done', to='kits.job')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                        ('what', models.CharField(max_length=200)),
                        ('done_on', models.DateField()),
                        ('note', models.TextField(blank=True)),
                    ],
                ),
                migrations.CreateModel(
                    name='EngineHandover',
                    fields=[
                        ('act', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='+', serialize=False, to='inventory.act')),
                        ('job', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='engine_handovers', to='kits.job')),
                        ('handed_over_on', models.DateField()),
                        ('used_in', models.CharField(blank=True, help_text='truck, boat, …: some limits count there alone', max_length=60)),
                        ('new_term', models.BooleanField(help_text='false: the earlier term goes on')),
                    ],
                    options={
                        'permissions': [('act_hand_engine_over', 'hand an engine over to the customer'), ('act_release_kept', 'release the kept piece of a lot')],
                    },
                ),
                migrations.CreateModel(
                    name='EngineSize',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('engine', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='sizes', to='kits.engine')),
                        ('job', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='sizes', to='kits.job')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                        ('name', models.CharField(max_length=200)),
                        ('place', models.CharField(help_text='place of the engine: ENGINE, CYL-2, MAIN-3, HEAD/bolt-07', max_length=80)),
                        ('typed', models.CharField(blank=True, max_length=40)),
                        ('value', models.BigIntegerField(blank=True, null=True)),
                        ('gauge', models.ForeignKey(blank=True, db_index=False, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='kits.gauge')),
                        ('renewed', models.BooleanField(default=False)),
                        ('detail', models.CharField(blank=True, help_text='which insert, or what else is to be known', max_length=200)),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(('value__isnull', True), ('value__gte', 0), _connector='OR'), name='engine_size_not_negative'), models.CheckConstraint(condition=models.Q(('value__isnull', False), models.Q(('detail', ''), _negated=True), ('renewed', True), _connector='OR'), name='engine_size_says_something'), models.CheckConstraint(condition=models.Q(('value__isnull', True), ('gauge__isnull', False), _connector='OR'), name='engine_size_measured_with_gauge')],
                    },
                ),
                migrations.CreateModel(
                    name='Extra',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('job', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='extras', to='kits.job')),
                        ('act', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='extra', to='inventory.act')),
                        ('part', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.part')),
                        ('amount', models.BigIntegerField()),
                        ('reason', models.CharField(choices=[('found after strip', 'Found'), ('damaged in fitting', 'Damaged'), ('wrong on list', 'Wrong'), ('dropped', 'Dropped'), ('lost', 'Lost'), ('due after first run', 'Service')], max_length=20)),
                        ('positions', models.JSONField(default=list)),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(('amount__gt', 0)), name='extra_amount_positive')],
                    },
                ),
                migrations.CreateModel(
                    name='FirstRun',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('job', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='first_runs', to='kits.job')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                        ('run_on', models.DateField()),
                        ('values', models.JSONField(help_text='name, typed, base units, good, why')),
                        ('leaks', models.TextField(blank=True, help_text='where it leaked; empty: nowhere')),
                        ('good', models.BooleanField()),
                        ('early', models.JSONField(default=list, help_text='joints whose sealant had not cured by its sheet, with the moment')),
                        ('signed_by', models.ForeignKey(blank=True, db_index=False, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                        ('because', models.TextField(blank=True, help_text='why it ran early')),
                        ('released_by', models.ForeignKey(blank=True, db_index=False, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(('released_by__isnull', True), ('good', True), _connector='OR'), name='first_run_released_when_good'), models.CheckConstraint(condition=models.Q(('early', []), models.Q(('signed_by__isnull', False), models.Q(('because', ''), _negated=True)), _connector='OR'), name='first_run_early_is_signed')],
                    },
                ),
                migrations.CreateModel(
                    name='Fitting',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('job', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='fittings', to='kits.job')),
                        ('act', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='fittings', to='inventory.act')),
                        ('item', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='fittings', to='inventory.item')),
                        ('spot', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.spot')),
                        ('amount', models.BigIntegerField()),
                        ('make', models.PositiveIntegerField(default=1, help_text='how many times the joint was made')),
                        ('reused', models.BooleanField(default=False)),
                        ('instead_of', models.ForeignKey(blank=True, db_index=False, help_text='the listed part that a new one stands in for; null: it is what was listed', null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.part')),
                        ('lubricant', models.CharField(blank=True, help_text='what the rubber was fitted with; empty: not said', max_length=20)),
                        ('clock_deg', models.PositiveSmallIntegerField(blank=True, help_text="angle of an old part's mark as it went in; of a new set: how far it was turned, clockwise seen from the head", null=True)),
                        ('side', models.CharField(blank=True, help_text="side of an old cap's number as it went in", max_length=60)),
                        ('doubtful', models.TextField(blank=True, help_text='what nobody could show about an old part: a missing mark, a lost place; how a liner went in otherwise than judged')),
                        ('fitter', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                        ('checker', models.ForeignKey(blank=True, db_index=False, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(('checker__isnull', True), models.Q(('checker', models.F('fitter')), _negated=True), _connector='OR'), name='fitting_checker_is_another'), models.CheckConstraint(condition=models.Q(('amount__gt', 0)), name='fitting_amount_positive')],
                    },
                ),
                migrations.CreateModel(
                    name='Found',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('job', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='found', to='kits.job')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                        ('item', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='found', to='inventory.item')),
                        ('position', models.CharField(max_length=80)),
                        ('known', models.BooleanField(help_text='false: "found, not known", never a stock number')),
                        ('size', models.CharField(blank=True, max_length=60)),
                        ('condition', models.CharField(blank=True, max_length=200)),
                        ('whose', models.CharField(choices=[('customer', 'customer'), ('shop', 'shop')], max_length=8)),
                    ],
                ),
                migrations.CreateModel(
                    name='Gate',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('job', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='gates', to='kits.job')),
                        ('act', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='gate', to='inventory.act')),
                        ('joint', models.CharField(max_length=80)),
                        ('make', models.PositiveIntegerField(help_text='how many times the joint is made by this')),
                        ('part', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.part')),
                        ('sheet', models.ForeignKey(blank=True, db_index=False, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.sealantsheet')),
                        ('helper', models.ForeignKey(blank=True, db_index=False, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                        ('bolts', models.PositiveIntegerField()),
                        ('nozzle', models.CharField(blank=True, max_length=80)),
                        ('procedures', models.JSONField(default=list, help_text='codes of the procedures that close the joint on this job')),
                        ('tubes', models.JSONField()),
                        ('positions', models.JSONField()),
                        ('laid_ul', models.BigIntegerField()),
                        ('prime_ul', models.BigIntegerField()),
                        ('drawn_ul', models.BigIntegerField(help_text='planned draw: laid, waste and priming')),
                        ('temperature_mk', models.BigIntegerField(blank=True, null=True)),
                        ('humidity_permille', models.PositiveIntegerField(blank=True, null=True)),
                        ('needed_ms', models.BigIntegerField(blank=True, null=True)),
                        ('allowed_ms', models.BigIntegerField(blank=True, help_text='null: no sheet, or outside it', null=True)),
                        ('fill_after_s', models.PositiveIntegerField(blank=True, null=True)),
                        ('run_after_s', models.PositiveIntegerField(blank=True, null=True)),
                        ('signed_by', models.ForeignKey(blank=True, db_index=False, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                        ('warnings', models.JSONField(default=list)),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(('laid_ul__gt', 0)), name='gate_lays_something'), models.CheckConstraint(condition=models.Q(('make__gte', 1)), name='gate_make_from_one')],
                    },
                ),
                migrations.CreateModel(
                    name='GiveBack',
                    fields=[
                        ('act', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='give_back', serialize=False, to='inventory.act')),
                        ('job', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='gives_back', to='kits.job')),
                        ('signed_by', models.CharField(max_length=200)),
                    ],
                    options={
                        'permissions': [('act_give_back', "give the customer's own parts back against a signature")],
                        'constraints': [models.CheckConstraint(condition=models.Q(('signed_by', ''), _negated=True), name='give_back_is_signed')],
                    },
                ),
                migrations.CreateModel(
                    name='HotWash',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('job', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='hot_washes', to='kits.job')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                        ('piece', models.CharField(help_text='block, liner, piston or crank', max_length=20)),
                    ],
                ),
                migrations.CreateModel(
                    name='Inspection',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('job', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='inspections', to='kits.job')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                        ('position', models.CharField(help_text='where it goes back', max_length=80)),
                        ('item', models.ForeignKey(blank=True, db_index=False, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.item')),
                        ('limit', models.CharField(max_length=200)),
                        ('result', models.CharField(max_length=200)),
                        ('gauge', models.ForeignKey(blank=True, db_index=False, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='kits.gauge')),
                        ('good', models.BooleanField()),
                    ],
                ),
                migrations.CreateModel(
                    name='JobChoice',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('job', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='choices', to='kits.job')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                        ('choice', models.CharField(max_length=60)),
                        ('place', models.CharField(blank=True, help_text='bank or position it is made for; empty: whole engine', max_length=80)),
                        ('alternative', models.CharField(max_length=60)),
                        ('reason', models.TextField()),
                    ],
                ),
                migrations.CreateModel(
                    name='JobDate',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('job', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='dates', to='kits.job')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                        ('fit_on', models.DateField()),
                        ('reason', models.TextField(blank=True)),
                    ],
                ),
                migrations.CreateModel(
                    name='JobEnd',
                    fields=[
                        ('job', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='end', serialize=False, to='kits.job')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                        ('cancelled', models.BooleanField(default=False)),
                        ('closed_on', models.DateField(blank=True, help_text='only of a job of the past that a table brought in: nothing of its work is recorded', null=True)),
                        ('checker', models.ForeignKey(blank=True, db_index=False, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                        ('reason', models.TextField(blank=True)),
                    ],
                ),
                migrations.CreateModel(
                    name='JobFinding',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('job', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='findings', to='kits.job')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                        ('code', models.CharField(max_length=60)),
                        ('place', models.CharField(help_text='finding place: ENGINE, BANK-LEFT, CYL-2, VALVE-03, MAIN-1 or a use position', max_length=80)),
                        ('extra_work', models.BooleanField(help_text="beyond the booked scope: waits for the owner's approval")),
                        ('note', models.TextField(blank=True)),
                    ],
                ),
                migrations.CreateModel(
                    name='JobOperation',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('job', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='operations', to='kits.job')),
                        ('procedure_revision', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='kits.procedurerevision')),
                        ('added_by', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                    ],
                    options={
                        'constraints': [models.UniqueConstraint(fields=('job', 'procedure_revision'), name='operation_once_on_job')],
                    },
                ),
                migrations.CreateModel(
                    name='LeakTest',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('job', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='leak_tests', to='kits.job')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                        ('pressure_pa', models.BigIntegerField()),
                        ('held_s', models.BigIntegerField()),
                        ('drop_pa', models.BigIntegerField()),
                        ('temperature_mk', models.BigIntegerField()),
                        ('typed', models.JSONField(help_text='pressure, time, drop and temperature as they were typed')),
                        ('wet', models.JSONField(default=list, help_text='use positions below which water was seen')),
                        ('good', models.BooleanField()),
                        ('why', models.JSONField(default=list, help_text='what speaks against it')),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(('drop_pa__gte', 0), ('held_s__gte', 0), ('pressure_pa__gte', 0), ('temperature_mk__gte', 0)), name='leak_test_not_negative')],
                    },
                ),
                migrations.CreateModel(
                    name='LineReview',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('act', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='line_review', to='inventory.act')),
                        ('procedure', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='line_reviews', to='kits.procedure')),
                        ('line', models.CharField(blank=True, max_length=60)),
                        ('part', models.ForeignKey(blank=True, db_index=False, help_text='that no line asks for, where `line` is empty', null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.part')),
                        ('mended_in', models.ForeignKey(blank=True, db_index=False, help_text='empty: the list is right as it was', null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='kits.procedurerevision')),
                        ('word', models.TextField(help_text='what was mended, or why the list is right')),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(('word', ''), _negated=True), name='line_review_says_why'), models.CheckConstraint(condition=models.Q(models.Q(('line', ''), ('part__isnull', False)), models.Q(models.Q(('line', ''), _negated=True), ('part__isnull', True)), _connector='OR'), name='line_review_of_line_or_part')],
                    },
                ),
                migrations.CreateModel(
                    name='MeasuredResult',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('job', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='results', to='kits.job')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                        ('kind', models.CharField(max_length=60)),
                        ('subject', models.CharField(max_length=120)),
                        ('family_revision', models.ForeignKey(db_index=False, help_text='whose facts decided', on_delete=django.db.models.deletion.PROTECT, related_name='+', to='kits.familyrevision')),
                        ('serial', models.ForeignKey(blank=True, help_text='the set that was read', null=True, on_delete=django.db.models.deletion.PROTECT, related_name='results', to='inventory.serial')),
                        ('document', models.JSONField()),
                    ],
                    options={
                        'permissions': [('act_match_set', 'match sets again from what broken ones left, by measurement')],
                        'constraints': [models.CheckConstraint(condition=models.Q(('kind', ''), _negated=True), name='result_kind_not_empty'), models.CheckConstraint(condition=models.Q(('subject', ''), _negated=True), name='result_subject_not_empty')],
                    },
                ),
                migrations.CreateModel(
                    name='MeterReadingWithdrawal',
                    fields=[
                        ('reading', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='withdrawal', serialize=False, to='kits.meterreading')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                        ('reason', models.TextField()),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(('reason', ''), _negated=True), name='meter_reading_withdrawal_says_why')],
                    },
                ),
                migrations.CreateModel(
                    name='NotNeeded',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('job', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='not_needed', to='kits.job')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                        ('position', models.CharField(max_length=80)),
                        ('because', models.TextField()),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(('because', ''), _negated=True), name='not_needed_says_why')],
                    },
                ),
                migrations.CreateModel(
                    name='OriginWord',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('job', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='origin_words', to='kits.job')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                        ('item', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.item')),
                        ('position', models.CharField(max_length=80)),
                        ('word', models.TextField(help_text='who said it, where it is written')),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(('word', ''), _negated=True), name='origin_word_says_what')],
                    },
                ),
                migrations.CreateModel(
                    name='OutsideWork',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('job', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='outside_work', to='kits.job')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                        ('item', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.item')),
                        ('amount', models.BigIntegerField(help_text='whole base units of the item')),
                        ('spot', models.ForeignKey(db_index=False, help_text="of the machinist's place: the job's", on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.spot')),
                        ('positions', models.JSONField(default=list, help_text='use positions at which it sat; empty: not known')),
                        ('needed_by', models.JSONField(default=list, help_text='procedure/step, where a person said so; empty: by its positions')),
                        ('work', models.CharField(blank=True, help_text='what is done to it', max_length=200)),
                        ('sent_on', models.DateField()),
                        ('due_on', models.DateField(help_text='as it was said when it was sent; `OutsideDue` has later words')),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(('amount__gt', 0)), name='outside_work_is_something'), models.CheckConstraint(condition=models.Q(('due_on__gte', models.F('sent_on'))), name='outside_due_after_sent')],
                    },
                ),
                migrations.CreateModel(
                    name='OwnerClaim',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('act', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                        ('engine', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='claims', to='kits.engine')),
                        ('job', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='claims', to='kits.job')),
                        ('told_on', models.DateField()),
                        ('told_by', models.CharField(help_text='owner, dealer, skipper, …: not a name, which stands with the owner alone', max_length=80)),
                        ('what', models.TextField(help_text='what is wrong, in the words of who told it')),
                        ('photos', models.JSONField(default=list, help_text='where photographs are kept')),
                        ('term', models.JSONField(help_text='whether the day lay inside the term, as it was judged when the claim was entered')),
                        ('asked', models.TextField(blank=True, help_text='what was asked about the meters; entered all the same, with the reason')),
                    ],
                    options={
                        'permissions': [('act_claim', 'enter, answer and close claims of owners'), ('act_state_cause', 'state the cause of a claim')],
                        'constraints': [models.CheckConstraint(condition=models.Q(models.Q(('what', ''), _negated=True), models.Q(('told_by', ''), _negated=True)), name='claim_says_what_and_who')],
                    },
                ),
                migrations.CreateModel(
                    name='PartsLine',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('revision', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='parts_lines', to='kits.procedurerevision')),
                        ('line', models.CharField(max_length=60)),
                        ('part', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='parts_lines', to='inventory.part')),
                        ('at', models.TextField()),
                    ],
                    options={
                        'constraints': [models.UniqueConstraint(fields=('revision', 'line'), name='parts_line_once')],
                    },
                ),
                migrations.CreateModel(
                    name='PhotoLook',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('job', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='photo_looks', to='kits.job')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                        ('what', models.CharField(help_text="as the family's list has it", max_length=200)),
                        ('position', models.CharField(max_length=80)),
                        ('photo_ref', models.CharField(help_text='where the photo is kept', max_length=200)),
                        ('good', models.BooleanField()),
                        ('note', models.TextField(blank=True)),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(('photo_ref', ''), _negated=True), name='photo_look_has_its_photo'), models.CheckConstraint(condition=models.Q(('good', True), models.Q(('note', ''), _negated=True), _connector='OR'), name='photo_look_says_what_is_wrong')],
                    },
                ),
                migrations.CreateModel(
                    name='PickList',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('job', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='pick_lists', to='kits.job')),
                        ('act', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='pick_list', to='inventory.act')),
                        ('number', models.PositiveIntegerField(help_text='first list of the job is 1')),
                        ('document', models.JSONField()),
                        ('last_tray', models.PositiveIntegerField(default=0, help_text='trays are numbered on over the lists of a job')),
                    ],
                    options={
                        'constraints': [models.UniqueConstraint(fields=('job', 'number'), name='pick_list_once')],
                    },
                ),
                migrations.CreateModel(
                    name='PistonCheck',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('job', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='piston_checks', to='kits.job')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                        ('position', models.CharField(help_text='use position of the set', max_length=80)),
                        ('items', models.JSONField(help_text="items of the family's list that were seen good")),
                        ('note', models.TextField(blank=True)),
                    ],
                ),
                migrations.CreateModel(
                    name='Reading',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('job', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='readings', to='kits.job')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                        ('what', models.CharField(max_length=30)),
                        ('place', models.CharField(blank=True, help_text='place of the engine: CYL-2, MAIN-3, HEAD/bolt-07', max_length=80)),
                        ('serial', models.ForeignKey(blank=True, help_text='the matched set', null=True, on_delete=django.db.models.deletion.PROTECT, related_name='readings', to='inventory.serial')),
                        ('item', models.ForeignKey(blank=True, db_index=False, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.item')),
                        ('point', models.CharField(blank=True, help_text='clock hour, or plane and direction: top/across', max_length=40)),
                        ('repeat', models.PositiveIntegerField(help_text='how-manyeth reading of the same; counted on, withdrawn ones too')),
                        ('typed', models.CharField(max_length=40)),
                        ('meant', models.CharField(blank=True, help_text='what the typed text was meant to be, where it was a slip', max_length=40)),
                        ('value', models.BigIntegerField()),
                        ('unit', models.CharField(help_text='Rec 20 code of the unit that was typed', max_length=8)),
                        ('exact', models.BooleanField(help_text='false: the typed value was rounded to the base unit')),
                        ('gauge', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='readings', to='kits.gauge')),
                        ('part_mk', models.BigIntegerField(blank=True, null=True)),
                        ('part_typed', models.CharField(blank=True, max_length=40)),
                        ('gauge_mk', models.BigIntegerField(blank=True, null=True)),
                        ('gauge_typed', models.CharField(blank=True, max_length=40)),
                        ('is_clean', models.BooleanField(blank=True, null=True)),
                        ('clamped', models.BooleanField(blank=True, null=True)),
                        ('clamp_load', models.CharField(blank=True, max_length=80)),
                        ('without_rubber', models.BooleanField(blank=True, null=True)),
                        ('confirmed', models.BooleanField(default=False, help_text='outside what is plausible, and confirmed as typed')),
                        ('reason', models.TextField(blank=True)),
                    ],
                    options={
                        'permissions': [('act_measure', 'record readings'), ('act_withdraw_reading', 'withdraw readings')],
                        'constraints': [models.CheckConstraint(condition=models.Q(('repeat__gte', 1)), name='reading_repeat_from_one'), models.CheckConstraint(condition=models.Q(models.Q(('place', ''), _negated=True), ('serial__isnull', False), ('item__isnull', False), _connector='OR'), name='reading_is_of_something'), models.CheckConstraint(condition=models.Q(('confirmed', False), models.Q(('reason', ''), _negated=True), _connector='OR'), name='reading_confirmed_says_why')],
                    },
                ),
                migrations.CreateModel(
                    name='Removal',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('job', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='removals', to='kits.job')),
                        ('act', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='removals', to='inventory.act')),
                        ('item', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='removals', to='inventory.item')),
                        ('spot', models.ForeignKey(help_text='where our records had it', on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.spot')),
                        ('to_bench', models.BooleanField(default=True, help_text='it lies at the bench and may go back; else it left the job')),
                        ('reason', models.TextField(blank=True)),
                        ('amount', models.BigIntegerField()),
                        ('tag', models.CharField(blank=True, help_text='text of the tag tied to it; one of a kind on its job', max_length=60)),
                        ('clock_deg', models.PositiveSmallIntegerField(blank=True, help_text='angle of its mark as it stood: 0, 90, 180 or 270', null=True)),
                        ('side', models.CharField(blank=True, help_text='side on which its number stood, for caps', max_length=60)),
                        ('looked', models.CharField(blank=True, help_text='of a ring: whole, rolled or cut; empty: not said', max_length=20)),
                    ],
                ),
                migrations.CreateModel(
                    name='RevisionWord',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('job', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='revision_words', to='kits.job')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                        ('taken', models.BooleanField(help_text='false: the job keeps what it had')),
                        ('procedure_revision', models.ForeignKey(blank=True, db_index=False, help_text='the newer one', null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='kits.procedurerevision')),
                        ('family_revision', models.ForeignKey(db_index=False, help_text='the newer one; where the word is on a procedure, the one that the job works by', on_delete=django.db.models.deletion.PROTECT, related_name='+', to='kits.familyrevision')),
                        ('instead_of', models.PositiveIntegerField(help_text='the revision that the job worked by until then')),
                        ('reason', models.TextField()),
                    ],
                    options={
                        'permissions': [('act_revise_job', 'take newer revisions over to jobs, or keep the old ones')],
                        'constraints': [models.CheckConstraint(condition=models.Q(('reason', ''), _negated=True), name='revision_word_says_why')],
                    },
                ),
                migrations.CreateModel(
                    name='SubstituteWord',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('job', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='substitute_words', to='kits.job')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                        ('listed', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.part')),
                        ('instead', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.part')),
                        ('agreed', models.BooleanField()),
                        ('given_by', models.CharField(help_text='role of who answered: the name itself stands with the owner', max_length=200)),
                        ('how', models.CharField(help_text='telephone, letter, in person', max_length=60)),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(models.Q(('given_by', ''), _negated=True), models.Q(('how', ''), _negated=True)), name='substitute_word_says_who_and_how')],
                    },
                ),
                migrations.CreateModel(
                    name='ToolLoan',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('job', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='tool_loans', to='kits.job')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                        ('site', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.site')),
                        ('tool', models.CharField(max_length=80)),
                    ],
                ),
                migrations.CreateModel(
                    name='WashedCount',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('job', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='washed_counts', to='kits.job')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                        ('name', models.CharField(help_text="as the family's list has it", max_length=40)),
                        ('count', models.PositiveIntegerField()),
                        ('back', models.BooleanField()),
                        ('recount', models.BooleanField(default=False)),
                    ],
                    options={
                        'permissions': [('act_count_washed', 'count plugs, dowels and jets out and back')],
                    },
                ),
                migrations.CreateModel(
                    name='Acceptance',
                    fields=[
                        ('act', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='+', serialize=False, to='inventory.act')),
                        ('result', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='acceptances', to='kits.measuredresult')),
                        ('doubtful', models.BooleanField()),
                        ('reason', models.TextField(blank=True)),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(('doubtful', False), models.Q(('reason', ''), _negated=True), _connector='OR'), name='acceptance_doubtful_says_why')],
                    },
                ),
                migrations.CreateModel(
                    name='AcceptedLayout',
                    fields=[
                        ('result', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='accepted_layout', serialize=False, to='kits.measuredresult')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                        ('doubtful', models.BooleanField()),
                        ('reason', models.TextField(blank=True)),
                    ],
                    options={
                        'permissions': [('act_accept', 'accept layouts and what results chose, and take layouts back'), ('act_accept_doubtful', 'accept what is doubtful by measurement, with a reason')],
                        'constraints': [models.CheckConstraint(condition=models.Q(('doubtful', False), models.Q(('reason', ''), _negated=True), _connector='OR'), name='layout_doubtful_says_why')],
                    },
                ),
                migrations.CreateModel(
                    name='Approval',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('job', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='approvals', to='kits.job')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                        ('approved', models.BooleanField()),
                        ('given_by', models.CharField(help_text='role of who answered: the name itself stands with the owner', max_length=200)),
                        ('how', models.CharField(help_text='telephone, letter, in person', max_length=60)),
                        ('limit_coins', models.BigIntegerField(blank=True, null=True)),
                        ('limit_s', models.PositiveIntegerField(blank=True, help_text='seconds of work; null: hours are not limited', null=True)),
                        ('findings', models.ManyToManyField(blank=True, related_name='approvals', to='kits.jobfinding')),
                    ],
                ),
                migrations.CreateModel(
                    name='Bead',
                    fields=[
                        ('gate', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='bead', serialize=False, to='kits.gate')),
                        ('act', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='bead', to='inventory.act')),
                        ('started_at', models.DateTimeField()),
                        ('ended_at', models.DateTimeField()),
                        ('helper', models.ForeignKey(blank=True, db_index=False, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                        ('tubes', models.JSONField()),
                        ('drawn_ul', models.BigIntegerField()),
                        ('over', models.BooleanField(help_text='over its time: cleaned off, to be made again')),
                        ('fill_from', models.DateTimeField(blank=True, help_text='null: no sheet, or outside it', null=True)),
                        ('run_from', models.DateTimeField(blank=True, null=True)),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(('ended_at__gte', models.F('started_at'))), name='bead_ends_not_before_start'), models.CheckConstraint(condition=models.Q(('drawn_ul__gt', 0)), name='bead_draws_something')],
                    },
                ),
                migrations.CreateModel(
                    name='BinToCount',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                        ('pick_list', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='kits.picklist')),
                        ('item', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.item')),
                        ('spot', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.spot')),
                        ('why', models.TextField()),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(('why', ''), _negated=True), name='bin_to_count_says_why')],
                    },
                ),
                migrations.CreateModel(
                    name='ClaimAnswer',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('claim', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='answers', to='kits.ownerclaim')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                        ('instead_of', models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='replaced_by', to='kits.claimanswer')),
                        ('answer', models.CharField(choices=[('accepted', 'accepted'), ('refused', 'refused'), ('part', 'part')], max_length=10)),
                        ('reason', models.TextField()),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(('reason', ''), _negated=True), name='claim_answer_says_why')],
                    },
                ),
                migrations.CreateModel(
                    name='ClaimCause',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('claim', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='causes', to='kits.ownerclaim')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                        ('instead_of', models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='replaced_by', to='kits.claimcause')),
                        ('cause', models.TextField()),
                        ('found_by', models.CharField(help_text='who found it: a log-in, a laboratory', max_length=80)),
                        ('evidence', models.TextField(help_text='what it rests on')),
                        ('oil_sample', models.CharField(blank=True, help_text='its number; empty: none was taken', max_length=60)),
                        ('coolant_sample', models.CharField(blank=True, help_text='its number; empty: none was taken', max_length=60)),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(models.Q(('cause', ''), _negated=True), models.Q(('found_by', ''), _negated=True), models.Q(('evidence', ''), _negated=True)), name='claim_cause_says_who_and_why')],
                    },
                ),
                migrations.CreateModel(
                    name='ClaimThing',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('claim', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='things', to='kits.ownerclaim')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                        ('position', models.CharField(help_text='use position', max_length=80)),
                        ('item', models.ForeignKey(blank=True, db_index=False, help_text='empty: not known which it was', null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.item')),
                        ('what', models.TextField(blank=True, help_text='what is wrong with it')),
                        ('photo_ref', models.CharField(blank=True, help_text='where its photograph is kept; empty: none', max_length=200)),
                    ],
                ),
                migrations.CreateModel(
                    name='EngineSizeReading',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('size', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='readings', to='kits.enginesize')),
                        ('reading', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='sizes', to='kits.reading')),
                    ],
                    options={
                        'constraints': [models.UniqueConstraint(fields=('size', 'reading'), name='engine_size_reading_once')],
                    },
                ),
                migrations.CreateModel(
                    name='EngineSizeWithdrawal',
                    fields=[
                        ('size', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='withdrawal', serialize=False, to='kits.enginesize')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                        ('reason', models.TextField()),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(('reason', ''), _negated=True), name='engine_size_withdrawal_says_why')],
                    },
                ),
                migrations.CreateModel(
                    name='ExtraFinding',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('extra', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='findings', to='kits.extra')),
                        ('code', models.CharField(max_length=60)),
                    ],
                    options={
                        'constraints': [models.UniqueConstraint(fields=('extra', 'code'), name='extra_finding_once')],
                    },
                ),
                migrations.CreateModel(
                    name='FindingWithdrawal',
                    fields=[
                        ('finding', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='withdrawal', serialize=False, to='kits.jobfinding')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                        ('reason', models.TextField()),
                    ],
                ),
                migrations.CreateModel(
                    name='FittingCorrection',
                    fields=[
                        ('fitting', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='correction', serialize=False, to='kits.fitting')),
                        ('act', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='fitting_correction', to='inventory.act')),
                        ('since', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                        ('right', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='corrects', to='kits.fitting')),
                        ('rest', models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='kits.fitting')),
                    ],
                ),
                migrations.CreateModel(
                    name='GivenThing',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('give_back', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='things', to='kits.giveback')),
                        ('item', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.item')),
                        ('spot', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.spot')),
                        ('amount', models.BigIntegerField()),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(('amount__gt', 0)), name='given_amount_positive')],
                    },
                ),
                migrations.CreateModel(
                    name='Handover',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('pick_list', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='handovers', to='kits.picklist')),
                        ('act', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='handover', to='inventory.act')),
                        ('received_by', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                        ('missing', models.JSONField(default=list)),
                    ],
                ),
                migrations.CreateModel(
                    name='HeightLetBe',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('job', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='heights_let_be', to='kits.job')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                        ('fitting', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='kits.fitting')),
                        ('result', models.ForeignKey(blank=True, db_index=False, help_text='the doubtful one that is taken as it is; empty: no height is on record', null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='kits.measuredresult')),
                        ('reason', models.TextField()),
                    ],
                    options={
                        'permissions': [('act_let_height_be', 'let a liner be with a doubtful height, or with none on record')],
                        'constraints': [models.CheckConstraint(condition=models.Q(('reason', ''), _negated=True), name='height_let_be_says_why')],
                    },
                ),
                migrations.CreateModel(
                    name='JobHold',
                    fields=[
                        ('hold', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='job_hold', serialize=False, to='inventory.hold')),
                        ('job', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='holds', to='kits.job')),
                        ('pick_list', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='holds', to='kits.picklist')),
                        ('wanted', models.ForeignKey(db_index=False, help_text='part the list asks for', on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.part')),
                        ('positions', models.JSONField(default=list, help_text='[use position, make, amount] for each position it serves')),
                        ('on_approval', models.BooleanField(default=False, help_text='one of several candidates: released when another is chosen')),
                        ('tray', models.PositiveIntegerField(default=0, help_text='of the cart, the first that its line lies in; 0: none')),
                        ('line', models.PositiveIntegerField(default=0, help_text='order on the list')),
                    ],
                ),
                migrations.CreateModel(
                    name='LeakTestRing',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('test', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='rings', to='kits.leaktest')),
                        ('item', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.item')),
                        ('position', models.CharField(help_text='use position; the name in it is the groove', max_length=80)),
                        ('amount', models.BigIntegerField()),
                        ('lubricant', models.CharField(blank=True, help_text='what it was fitted with; empty: nobody said', max_length=60)),
                        ('leaked', models.BooleanField(help_text='it was wet below its liner: the ring is scrap')),
                    ],
                ),
                migrations.CreateModel(
                    name='LineDoubt',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('extra', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='doubts', to='kits.extra')),
                        ('revision', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='kits.procedurerevision')),
                        ('line', models.CharField(blank=True, help_text='empty: no line of the procedure asks for the part', max_length=60)),
                    ],
                    options={
                        'constraints': [models.UniqueConstraint(fields=('extra', 'revision', 'line'), name='line_doubted_once')],
                    },
                ),
                migrations.CreateModel(
                    name='LostPosition',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('removal', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='lost', to='kits.removal')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                        ('reason', models.TextField()),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(('reason', ''), _negated=True), name='lost_position_says_why')],
                    },
                ),
                migrations.CreateModel(
                    name='OutsideDue',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('outside_work', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='dues', to='kits.outsidework')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                        ('due_on', models.DateField()),
                        ('reason', models.TextField()),
                    ],
                ),
                migrations.CreateModel(
                    name='OutsideLoss',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('outside_work', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='losses', to='kits.outsidework')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                        ('amount', models.BigIntegerField(help_text='whole base units of the item')),
                        ('said_by', models.CharField(help_text='who there said so', max_length=200)),
                        ('reason', models.TextField()),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(('amount__gt', 0)), name='outside_loss_is_something'), models.CheckConstraint(condition=models.Q(models.Q(('said_by', ''), _negated=True), models.Q(('reason', ''), _negated=True)), name='outside_loss_says_who_and_why')],
                    },
                ),
                migrations.CreateModel(
                    name='OutsideReturn',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('outside_work', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='returns', to='kits.outsidework')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                        ('back_on', models.DateField()),
                    ],
                ),
                migrations.CreateModel(
                    name='ReadingWithdrawal',
                    fields=[
                        ('reading', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='withdrawal', serialize=False, to='kits.reading')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                        ('reason', models.TextField()),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(('reason', ''), _negated=True), name='reading_withdrawal_says_why')],
                    },
                ),
                migrations.CreateModel(
                    name='ResultReading',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('result', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='rests_on', to='kits.measuredresult')),
                        ('reading', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='results', to='kits.reading')),
                    ],
                    options={
                        'constraints': [models.UniqueConstraint(fields=('result', 'reading'), name='result_rests_on_reading_once')],
                    },
                ),
                migrations.CreateModel(
                    name='ToolBack',
                    fields=[
                        ('loan', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='back', serialize=False, to='kits.toolloan')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                    ],
                ),
                migrations.CreateModel(
                    name='WorkedTime',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('job', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='worked', to='kits.job')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                        ('finding', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='worked', to='kits.jobfinding')),
                        ('person', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                        ('worked_on', models.DateField()),
                        ('time_s', models.PositiveIntegerField()),
                        ('typed', models.CharField(max_length=40)),
                    ],
                    options={
                        'permissions': [('act_extra_hours', 'enter hours worked on extra work')],
                        'constraints': [models.CheckConstraint(condition=models.Q(('time_s__gt', 0)), name='worked_some_time')],
                    },
                ),
                migrations.CreateModel(
                    name='ClaimEnd',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('claim', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='ends', to='kits.ownerclaim')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                        ('what', models.CharField(choices=[('closed', 'closed'), ('taken back', 'taken back'), ('opened again', 'opened again')], max_length=12)),
                        ('cause', models.ForeignKey(blank=True, db_index=False, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='kits.claimcause')),
                        ('answer', models.ForeignKey(blank=True, db_index=False, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='kits.claimanswer')),
                        ('reason', models.TextField(blank=True)),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(models.Q(('answer__isnull', False), ('cause__isnull', False), ('what', 'closed')), models.Q(models.Q(('what', 'closed'), _negated=True), ('answer__isnull', True), ('cause__isnull', True), models.Q(('reason', ''), _negated=True)), _connector='OR'), name='claim_closed_with_cause_and_answer')],
                    },
                ),
                migrations.CreateModel(
                    name='ClaimThingWithdrawal',
                    fields=[
                        ('thing', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='withdrawal', serialize=False, to='kits.claimthing')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                        ('reason', models.TextField()),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(('reason', ''), _negated=True), name='claim_thing_withdrawal_says_why')],
                    },
                ),
                migrations.CreateModel(
                    name='DoubtAnswered',
                    fields=[
                        ('doubt', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='answered', serialize=False, to='kits.linedoubt')),
                        ('review', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='doubts', to='kits.linereview')),
                    ],
                ),
                migrations.CreateModel(
                    name='LayoutPlace',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('layout', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='places', to='kits.acceptedlayout')),
                        ('position', models.CharField(max_length=80)),
                        ('serial', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.serial')),
                        ('turn_deg', models.PositiveSmallIntegerField(help_text='clockwise seen from the head, from how it was read')),
                        ('shim_nm', models.BigIntegerField(default=0)),
                    ],
                    options={
                        'constraints': [models.UniqueConstraint(fields=('layout', 'position'), name='layout_bore_once'), models.UniqueConstraint(fields=('layout', 'serial'), name='layout_set_once'), models.CheckConstraint(condition=models.Q(('turn_deg__lt', 360)), name='layout_turn_below_full'), models.CheckConstraint(condition=models.Q(('shim_nm__gte', 0)), name='layout_shim_not_negative')],
                    },
                ),
                migrations.CreateModel(
                    name='LayoutWithdrawal',
                    fields=[
                        ('layout', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='withdrawal', serialize=False, to='kits.acceptedlayout')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                        ('reason', models.TextField()),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(('reason', ''), _negated=True), name='layout_withdrawal_says_why')],
                    },
                ),
                migrations.CreateModel(
                    name='SecondLook',
                    fields=[
                        ('hold', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='second_look', serialize=False, to='kits.jobhold')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                        ('wrong', models.TextField(blank=True, help_text='what is wrong with it; empty: it is what the list asks for')),
                    ],
                ),
                migrations.CreateModel(
                    name='WorkedTimeReversal',
                    fields=[
                        ('entry', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='reversal', serialize=False, to='kits.workedtime')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                        ('reason', models.TextField()),
                    ],
                ),
            ],
        ),
    ]
