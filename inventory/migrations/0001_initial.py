import django.contrib.auth.models
import django.contrib.auth.validators
import django.db.models.deletion
import django.utils.timezone
import inventory.domain.import_rows
import inventory.migrations._tables
import inventory.models.looks
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    initial = True

    dependencies = [
        ('auth', '0012_alter_user_first_name_max_length'),
    ]

    operations = [
        inventory.migrations._tables.CreateTables(
            tables=[
                migrations.CreateModel(
                    name='CertificateFile',
                    fields=[
                        ('sha256', models.CharField(help_text='in lower-case hexadecimal', max_length=64, primary_key=True, serialize=False)),
                        ('content', models.BinaryField()),
                        ('size_bytes', models.PositiveIntegerField()),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(('size_bytes__gte', 1)), name='certificate_file_not_empty')],
                    },
                ),
                migrations.CreateModel(
                    name='FailedLogin',
                    fields=[
                        ('who', models.CharField(help_text='digest of name and address', max_length=64, primary_key=True, serialize=False)),
                        ('count', models.PositiveIntegerField()),
                        ('since', models.DateTimeField(db_index=True, help_text='the first of them')),
                    ],
                ),
                migrations.CreateModel(
                    name='Owner',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('name', models.CharField(max_length=200)),
                        ('address', models.TextField(blank=True)),
                        ('telephone', models.CharField(blank=True, max_length=60)),
                        ('email', models.EmailField(blank=True, max_length=254)),
                        ('version', models.PositiveIntegerField(default=1)),
                    ],
                ),
                migrations.CreateModel(
                    name='Part',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('number', models.CharField(help_text='as printed by the maker', max_length=60, unique=True)),
                        ('shop_number', models.CharField(blank=True, max_length=60)),
                        ('compare_key', models.CharField(db_index=True, max_length=60)),
                        ('name', models.CharField(max_length=200)),
                        ('kind', models.CharField(help_text="empty kind is 'to be sorted': it cannot be issued", max_length=40)),
                        ('unit', models.CharField(help_text='UN/CEFACT Recommendation 20 or 21 code', max_length=3)),
                        ('base', models.CharField(choices=[('piece', 'piece'), ('microlitre', 'microlitre'), ('milligram', 'milligram'), ('nanometre', 'nanometre')], max_length=12)),
                        ('tracked_by', models.CharField(choices=[('nothing', 'nothing'), ('lot', 'lot'), ('serial', 'serial'), ('set', 'set')], max_length=8)),
                        ('life', models.JSONField(default=dict, help_text='shelf-life rule; {} for none')),
                        ('compound', models.CharField(blank=True, max_length=20)),
                        ('lubricant', models.CharField(blank=True, choices=[('water-based soap', 'water-based soap'), ('silicone grease', 'silicone grease'), ('mineral oil', 'mineral oil'), ('petroleum jelly', 'petroleum jelly'), ('vegetable oil', 'vegetable oil'), ('dry', 'dry')], help_text='what it is to rubber, for parts that rubber is fitted with', max_length=20)),
                        ('ring', models.JSONField(default=dict, help_text='size, inside diameter and section in mm as text, shape; {} for none')),
                        ('label_window', models.JSONField(default=dict, help_text='of a matched set: what its label may say and be believed; {} for anything')),
                        ('weight_mg', models.BigIntegerField(blank=True, null=True)),
                        ('packed_ul', models.BigIntegerField(blank=True, help_text='what one takes up in a tray, in its wrapping', null=True)),
                        ('pack', models.PositiveIntegerField(default=1)),
                        ('loose_issue', models.BooleanField(default=True, help_text='may leave the shelf in less than a whole pack')),
                        ('price_coins', models.BigIntegerField(blank=True, null=True)),
                        ('density_mg_per_ml', models.PositiveIntegerField(blank=True, null=True)),
                        ('net_ul', models.BigIntegerField(blank=True, help_text='content of one closed tube, tin or bottle', null=True)),
                        ('empty_mg', models.BigIntegerField(blank=True, null=True)),
                        ('hazard_note', models.TextField(blank=True)),
                        ('storage_note', models.TextField(blank=True)),
                        ('storage', models.JSONField(default=dict, help_text='class, low, high, group, apart_from of its storage; {} for nothing stated')),
                        ('version', models.PositiveIntegerField(default=1)),
                    ],
                    options={
                        'indexes': [models.Index(inventory.models.looks.Look('compare_key'), name='part_by_look')],
                        'constraints': [models.CheckConstraint(condition=models.Q(('compare_key', ''), _negated=True), name='part_compare_key_not_empty'), models.CheckConstraint(condition=models.Q(('pack__gte', 1)), name='part_pack_positive'), models.CheckConstraint(condition=models.Q(models.Q(('tracked_by__in', ['serial', 'set']), _negated=True), ('base', 'piece'), _connector='OR'), name='part_serials_are_pieces')],
                    },
                ),
                migrations.CreateModel(
                    name='ShopSetting',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('name', models.CharField(max_length=40, unique=True)),
                        ('value', models.JSONField()),
                    ],
                ),
                migrations.CreateModel(
                    name='Site',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('code', models.CharField(max_length=20, unique=True)),
                        ('name', models.CharField(max_length=200)),
                    ],
                ),
                migrations.CreateModel(
                    name='Supplier',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('code', models.CharField(max_length=40, unique=True)),
                        ('name', models.CharField(max_length=200)),
                        ('facts', models.JSONField(default=dict, help_text='lead times, least order, price breaks, as the parts manager notes them')),
                        ('send_back_days', models.PositiveIntegerField(blank=True, help_text='how long an old unit may stay here before it is sent back, unless its part says otherwise', null=True)),
                    ],
                ),
                migrations.CreateModel(
                    name='ValueCarried',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('upto', models.DateTimeField(help_text='the end of a day: everything that happened up to then', unique=True)),
                        ('acts', models.BigIntegerField(help_text='how many acts happened up to then, as it was made')),
                        ('method', models.CharField(help_text='the setting `valuation` it was made by', max_length=40)),
                        ('sums', models.JSONField(help_text='coins that are not in stock, by where they went')),
                        ('differences', models.JSONField(help_text='what invoices came to since the one before')),
                    ],
                ),
                migrations.CreateModel(
                    name='KitRevision',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('kit', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='kit_revisions', to='inventory.part')),
                        ('revision', models.PositiveIntegerField()),
                    ],
                    options={
                        'constraints': [models.UniqueConstraint(fields=('kit', 'revision'), name='kit_revision_once')],
                    },
                ),
                migrations.CreateModel(
                    name='PartAtSite',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('part', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, to='inventory.part')),
                        ('site', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, to='inventory.site')),
                    ],
                    options={
                        'constraints': [models.UniqueConstraint(fields=('part', 'site'), name='part_once_at_site')],
                    },
                ),
                migrations.CreateModel(
                    name='PartCarried',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('point', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='parts', to='inventory.valuecarried')),
                        ('part', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.part')),
                        ('kept', models.JSONField(help_text='pools with their layers, in stock and at jobs; empty: nothing any more')),
                    ],
                    options={
                        'constraints': [models.UniqueConstraint(fields=('part', 'point'), name='part_carried_once')],
                    },
                ),
                migrations.CreateModel(
                    name='Person',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('password', models.CharField(max_length=128, verbose_name='password')),
                        ('last_login', models.DateTimeField(blank=True, null=True, verbose_name='last login')),
                        ('is_superuser', models.BooleanField(default=False, help_text='Designates that this user has all permissions without explicitly assigning them.', verbose_name='superuser status')),
                        ('username', models.CharField(error_messages={'unique': 'A user with that username already exists.'}, help_text='Required. 150 characters or fewer. Letters, digits and @/./+/-/_ only.', max_length=150, unique=True, validators=[django.contrib.auth.validators.UnicodeUsernameValidator()], verbose_name='username')),
                        ('first_name', models.CharField(blank=True, max_length=150, verbose_name='first name')),
                        ('last_name', models.CharField(blank=True, max_length=150, verbose_name='last name')),
                        ('email', models.EmailField(blank=True, max_length=254, verbose_name='email address')),
                        ('is_staff', models.BooleanField(default=False, help_text='Designates whether the user can log into this admin site.', verbose_name='staff status')),
                        ('is_active', models.BooleanField(default=True, help_text='Designates whether this user should be treated as active. Unselect this instead of deleting accounts.', verbose_name='active')),
                        ('date_joined', models.DateTimeField(default=django.utils.timezone.now, verbose_name='date joined')),
                        ('home_site', models.ForeignKey(blank=True, db_index=False, null=True, on_delete=django.db.models.deletion.PROTECT, to='inventory.site')),
                        ('groups', models.ManyToManyField(blank=True, help_text='The groups this user belongs to. A user will get all permissions granted to each of their groups.', related_name='user_set', related_query_name='user', to='auth.group', verbose_name='groups')),
                        ('user_permissions', models.ManyToManyField(blank=True, help_text='Specific permissions for this user.', related_name='user_set', related_query_name='user', to='auth.permission', verbose_name='user permissions')),
                    ],
                    options={
                        'verbose_name': 'user',
                        'verbose_name_plural': 'users',
                    },
                    managers=[
                        ('objects', django.contrib.auth.models.UserManager()),
                    ],
                ),
                migrations.CreateModel(
                    name='Place',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('code', models.CharField(max_length=80, unique=True)),
                        ('name', models.CharField(blank=True, max_length=200)),
                        ('kind', models.CharField(choices=[('supplier', 'supplier'), ('scrap', 'scrap'), ('count difference', 'count difference'), ('conversion', 'conversion'), ('before our records', 'before our records'), ('owner', 'owner'), ('sold', 'sold'), ('workshop use', 'workshop use'), ('shelf', 'shelf'), ('cart', 'cart'), ('bench', 'bench'), ('engine', 'engine'), ('van', 'van'), ('quarantine', 'quarantine'), ('outside work', 'outside work'), ('old-unit crate', 'old-unit crate')], max_length=20)),
                        ('real', models.BooleanField(help_text='a balance here may never be below zero')),
                        ('site', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, to='inventory.site')),
                        ('walk_order', models.PositiveIntegerField(default=0, help_text='order in which the shelves are walked when picking')),
                        ('needed_on', models.DateField(blank=True, help_text='of a cart: the day of fitting as planned now, once it was moved', null=True)),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(models.Q(('kind__in', ['before our records', 'conversion', 'count difference', 'owner', 'scrap', 'sold', 'supplier', 'workshop use']), ('real', False)), models.Q(('real', True), models.Q(('kind__in', ['before our records', 'conversion', 'count difference', 'owner', 'scrap', 'sold', 'supplier', 'workshop use']), _negated=True)), _connector='OR'), name='place_real_follows_kind'), models.CheckConstraint(condition=models.Q(('site__isnull', False), models.Q(('kind__in', ['shelf', 'cart', 'bench']), _negated=True), _connector='OR'), name='place_stock_has_site')],
                    },
                ),
                migrations.CreateModel(
                    name='Replacement',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('old', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='replacements', to='inventory.part')),
                        ('way', models.CharField(choices=[('one way', 'One Way'), ('both ways', 'Both Ways'), ('one to several', 'One To Several')], max_length=16)),
                        ('fate', models.CharField(choices=[('use up', 'Use Up'), ('use only below a number', 'Use Below'), ('withdrawn', 'Withdrawn')], default='use up', max_length=24)),
                        ('engine_below', models.CharField(blank=True, help_text='old part only in engines below this number', max_length=40)),
                        ('engine_from', models.CharField(blank=True, help_text='replacement only in engines from this number', max_length=40)),
                        ('no_mix_on', models.CharField(blank=True, help_text='"engine" or "bank": not mixed there; empty: may be mixed', max_length=8)),
                        ('condition', models.TextField(blank=True)),
                        ('noted_on', models.DateField(blank=True, null=True)),
                        ('withdrawn', models.BooleanField(default=False, help_text='this line no longer counts')),
                    ],
                ),
                migrations.CreateModel(
                    name='Serial',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('part', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='serials', to='inventory.part')),
                        ('number', models.CharField(max_length=60)),
                        ('compare_key', models.CharField(db_index=True, max_length=60)),
                    ],
                    options={
                        'indexes': [models.Index(inventory.models.looks.Look('compare_key'), models.F('part'), name='serial_by_look')],
                        'constraints': [models.UniqueConstraint(fields=('part', 'number'), name='serial_once_in_part')],
                    },
                ),
                migrations.CreateModel(
                    name='SupplierPart',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('supplier', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, to='inventory.supplier')),
                        ('part', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='sold_by', to='inventory.part')),
                        ('number', models.CharField(blank=True, max_length=60)),
                        ('pack', models.PositiveIntegerField(default=1)),
                        ('least_order', models.PositiveIntegerField(default=1)),
                        ('price_coins', models.BigIntegerField(blank=True, null=True)),
                        ('lead_days', models.PositiveIntegerField(blank=True, null=True)),
                        ('express_days', models.PositiveIntegerField(blank=True, help_text='sent fast; empty: it is not', null=True)),
                        ('express_coins', models.BigIntegerField(blank=True, help_text='what a fast delivery costs more', null=True)),
                        ('send_back_days', models.PositiveIntegerField(blank=True, help_text='how long the old unit of this part may stay here before it is sent back', null=True)),
                    ],
                    options={
                        'constraints': [models.UniqueConstraint(fields=('supplier', 'part'), name='supplier_sells_part_once'), models.CheckConstraint(condition=models.Q(models.Q(('express_coins__isnull', True), ('express_days__isnull', True)), models.Q(('express_coins__gte', 0), ('express_coins__isnull', False), ('express_days__isnull', False)), _connector='OR'), name='supplier_part_express_has_price')],
                    },
                ),
                migrations.CreateModel(
                    name='Act',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('key', models.UUIDField(help_text='made by the caller: the same key is the same act', unique=True)),
                        ('kind', models.CharField(max_length=40)),
                        ('actor', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='acts', to=settings.AUTH_USER_MODEL)),
                        ('occurred_at', models.DateTimeField(db_index=True, help_text='true since')),
                        ('recorded_at', models.DateTimeField(db_index=True, help_text='known since')),
                        ('device', models.CharField(blank=True, max_length=80)),
                        ('device_at', models.DateTimeField(blank=True, null=True)),
                        ('place', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, to='inventory.place')),
                        ('subject', models.CharField(blank=True, db_index=True, help_text='job number or other name it concerns', max_length=80)),
                        ('reason', models.TextField(blank=True)),
                        ('request_hash', models.CharField(max_length=64)),
                        ('corrects', models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='corrected_by', to='inventory.act')),
                    ],
                    options={
                        'permissions': [('act_catalogue', 'enter and change parts, replacements, kits and suppliers'), ('act_order', 'order from suppliers, enter what they promise, close what will not come'), ('act_receive', 'receive deliveries, reject of them, send goods back to suppliers'), ('act_import', 'bring in tables: keep, read, answer and book them'), ('act_certificate', 'enter certificates and lay them beside lots'), ('act_inspect_lot', 'inspect samples of delivered lots'), ('act_credit', 'enter what suppliers credited, or refused'), ('act_invoice', 'enter what suppliers charged for what they had delivered'), ('act_transfer', 'carry stock between shelves and into quarantine, send it to another site'), ('act_take_transfer', 'sign for what came from another site'), ('act_explain_transfer', 'say what became of what did not come from another site'), ('act_sell', 'sell at the counter, take back what was sold'), ('act_enter_owner', 'enter an owner, or a buyer at the counter'), ('act_owner', 'change owners, and whose an engine is'), ('act_see_owner', 'read the personal data of owners'), ('act_use_here', 'use up stock in the workshop'), ('act_mark_demand', "mark months of a part's demand as exceptional"), ('act_release_quarantine', 'release from quarantine'), ('act_count', 'count'), ('act_recount', 'count again, as a second person, what was counted off'), ('act_keep', 'keep one piece of each lot back'), ('act_write_off', 'write off stock'), ('act_break_set', 'record that a matched set is broken'), ('act_core_value', 'decide what a broken set is worth as a core'), ('act_old_unit', 'take in old units, tag them, send them back'), ('act_deposit', 'enter deposits, what was refunded of them, and what is lost'), ('act_open', 'open kits and tubes'), ('act_assemble', 'make up closed kits from loose stock'), ('act_sign_safety_sheet', 'sign safety data sheets as read'), ('act_storage', 'say what places offer, and keep the log of their temperatures'), ('act_stop', 'stop lots and items'), ('act_free', 'free stopped lots and items'), ('act_extend_life', 'extend the shelf life of a lot'), ('act_set_dates', 'put the dates of a lot, or the label of a set, right'), ('act_send_later', 'send acts of a bench device later, each as far as one may do it'), ('act_answer_clash', 'say which of two stories about one thing is true'), ('act_correct', 'take an act back')],
                        'constraints': [models.CheckConstraint(condition=models.Q(('kind', ''), _negated=True), name='act_kind_not_empty'), models.CheckConstraint(condition=models.Q(('occurred_at__lte', models.F('recorded_at'))), name='act_not_from_the_future')],
                    },
                ),
                migrations.CreateModel(
                    name='KitContent',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('revision', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='contents', to='inventory.kitrevision')),
                        ('part', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='inside_kits', to='inventory.part')),
                        ('amount', models.PositiveIntegerField()),
                        ('inside', models.ForeignKey(blank=True, db_index=False, help_text='what it holds itself, if it is a kit; empty: it is none, or was not on record as one', null=True, on_delete=django.db.models.deletion.PROTECT, related_name='packed_in', to='inventory.kitrevision')),
                    ],
                    options={
                        'constraints': [models.UniqueConstraint(fields=('revision', 'part'), name='kit_content_once'), models.CheckConstraint(condition=models.Q(('amount__gte', 1)), name='kit_content_positive')],
                    },
                ),
                migrations.CreateModel(
                    name='Lot',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('part', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='lots', to='inventory.part')),
                        ('code', models.CharField(max_length=60)),
                        ('compare_key', models.CharField(max_length=60)),
                        ('cure_code', models.CharField(blank=True, max_length=20)),
                        ('made_on', models.DateField(blank=True, null=True)),
                        ('printed_on', models.DateField(blank=True, help_text='use-by date as printed on the bag', null=True)),
                        ('expires_on', models.DateField(blank=True, null=True)),
                        ('expiry_rule', models.CharField(blank=True, max_length=200)),
                        ('extension_years', models.PositiveSmallIntegerField(default=0, help_text='what one inspection may add, by the rule that gave the expiry')),
                        ('supplier', models.ForeignKey(blank=True, db_index=False, null=True, on_delete=django.db.models.deletion.PROTECT, to='inventory.supplier')),
                        ('received_on', models.DateField(blank=True, null=True)),
                        ('kit_revision', models.ForeignKey(blank=True, db_index=False, help_text='for a lot of kits: what these boxes hold', null=True, on_delete=django.db.models.deletion.PROTECT, to='inventory.kitrevision')),
                    ],
                    options={
                        'indexes': [models.Index(fields=['compare_key', 'part'], name='lot_by_key'), models.Index(inventory.models.looks.Look('compare_key'), models.F('part'), name='lot_by_look')],
                        'constraints': [models.UniqueConstraint(fields=('part', 'code'), name='lot_once_in_part'), models.CheckConstraint(condition=models.Q(('compare_key', ''), _negated=True), name='lot_compare_key_not_empty')],
                    },
                ),
                migrations.CreateModel(
                    name='MatchedSet',
                    fields=[
                        ('serial', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='matched_set', serialize=False, to='inventory.serial')),
                        ('weight_mg', models.BigIntegerField(blank=True, help_text='of the piston', null=True)),
                        ('weighed', models.CharField(blank=True, help_text='with pin or without pin; empty: no weight is said', max_length=20)),
                        ('bore_nm', models.BigIntegerField(blank=True, null=True)),
                        ('piston_nm', models.BigIntegerField(blank=True, null=True)),
                        ('grade', models.CharField(blank=True, max_length=20)),
                        ('liner_mark', models.CharField(blank=True, max_length=60)),
                        ('piston_mark', models.CharField(blank=True, max_length=60)),
                        ('photo', models.CharField(blank=True, help_text='where a photo of the label is kept', max_length=500)),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(models.Q(('weighed', ''), ('weight_mg__isnull', True)), models.Q(('weighed__in', ('with pin', 'without pin')), ('weight_mg__isnull', False)), _connector='OR'), name='set_weight_says_with_what')],
                    },
                ),
                migrations.CreateModel(
                    name='Refusal',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('key', models.UUIDField(db_index=True)),
                        ('kind', models.CharField(max_length=40)),
                        ('actor', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='refusals', to=settings.AUTH_USER_MODEL)),
                        ('recorded_at', models.DateTimeField(db_index=True)),
                        ('subject', models.CharField(blank=True, max_length=80)),
                        ('code', models.CharField(max_length=60)),
                        ('message', models.TextField()),
                        ('values', models.JSONField(default=dict)),
                    ],
                ),
                migrations.CreateModel(
                    name='ReplacementCompanion',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('replacement', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='companions', to='inventory.replacement')),
                        ('part', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.part')),
                        ('needs', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.part')),
                        ('pieces', models.PositiveIntegerField()),
                    ],
                    options={
                        'constraints': [models.UniqueConstraint(fields=('replacement', 'part', 'needs'), name='companion_named_once'), models.CheckConstraint(condition=models.Q(('pieces__gte', 1)), name='companion_pieces_positive'), models.CheckConstraint(condition=models.Q(('part', models.F('needs')), _negated=True), name='companion_is_another')],
                    },
                ),
                migrations.CreateModel(
                    name='ReplacementPart',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('replacement', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='news', to='inventory.replacement')),
                        ('part', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='replaces', to='inventory.part')),
                        ('numerator', models.PositiveIntegerField(default=1)),
                        ('denominator', models.PositiveIntegerField(default=1)),
                    ],
                    options={
                        'constraints': [models.UniqueConstraint(fields=('replacement', 'part'), name='replacement_names_part_once'), models.CheckConstraint(condition=models.Q(('numerator__gte', 1), ('denominator__gte', 1)), name='replacement_ratio_positive')],
                    },
                ),
                migrations.CreateModel(
                    name='Spot',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('place', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='spots', to='inventory.place')),
                        ('name', models.CharField(default='-', max_length=80)),
                    ],
                    options={
                        'constraints': [models.UniqueConstraint(fields=('place', 'name'), name='spot_once_in_place')],
                    },
                ),
                migrations.CreateModel(
                    name='Certificate',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='certificates', to='inventory.act')),
                        ('supplier', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='certificates', to='inventory.supplier')),
                        ('number', models.CharField(max_length=60)),
                        ('heat', models.CharField(blank=True, help_text='heat or batch of the maker', max_length=60)),
                        ('dated_on', models.DateField()),
                        ('lots', models.JSONField(help_text='lot codes as they are printed on it')),
                        ('file', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='certificates', to='inventory.certificatefile')),
                        ('filename', models.CharField(max_length=120)),
                        ('content_type', models.CharField(max_length=40)),
                    ],
                    options={
                        'indexes': [models.Index(fields=['number'], name='certificate_by_number')],
                        'constraints': [models.CheckConstraint(condition=models.Q(('number', ''), _negated=True), name='certificate_number_not_empty')],
                    },
                ),
                migrations.CreateModel(
                    name='CoreValue',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('serial', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='core_values', to='inventory.serial')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                        ('value_coins', models.BigIntegerField(blank=True, help_text='empty: it is worth nothing as a core', null=True)),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(('value_coins__isnull', True), ('value_coins__gt', 0), _connector='OR'), name='core_value_positive')],
                    },
                ),
                migrations.CreateModel(
                    name='CountSheet',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('act', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='count_sheet', to='inventory.act')),
                        ('site', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, to='inventory.site')),
                        ('note', models.CharField(blank=True, max_length=200)),
                    ],
                ),
                migrations.CreateModel(
                    name='DemandMark',
                    fields=[
                        ('act', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='demand_mark', serialize=False, to='inventory.act')),
                        ('part', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.part')),
                        ('month', models.CharField(help_text='2025-01', max_length=7)),
                        ('exceptional', models.BooleanField()),
                    ],
                    options={
                        'indexes': [models.Index(fields=['part', 'month'], name='demand_mark_of_month')],
                    },
                ),
                migrations.CreateModel(
                    name='ImportFile',
                    fields=[
                        ('act', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='+', serialize=False, to='inventory.act')),
                        ('kind', models.CharField(max_length=20)),
                        ('name', models.CharField(max_length=200)),
                        ('sha256', models.CharField(db_index=True, max_length=64)),
                        ('size_bytes', models.PositiveIntegerField()),
                        ('packed', models.TextField(help_text='the file itself, deflated (RFC 1950), in base 64')),
                        ('read_as', models.CharField(max_length=200)),
                        ('headings', models.JSONField()),
                        ('columns', models.JSONField(help_text="column of each heading, '' where it is not known")),
                        ('evidence', models.JSONField(help_text='what each column says as a whole')),
                        ('day_order', models.CharField(blank=True, choices=[('day first', 'day first'), ('month first', 'month first')], max_length=12)),
                        ('rows_in', models.PositiveIntegerField(help_text='rows under the headings that are not empty')),
                    ],
                ),
                migrations.CreateModel(
                    name='InnerLot',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('kit_lot', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='inner_lots', to='inventory.lot')),
                        ('lot', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='inside_kit_lots', to='inventory.lot')),
                        ('amount', models.PositiveIntegerField(help_text='pieces of the inner lot in each box')),
                    ],
                    options={
                        'constraints': [models.UniqueConstraint(fields=('kit_lot', 'lot'), name='inner_lot_once')],
                    },
                ),
                migrations.CreateModel(
                    name='KitAssembly',
                    fields=[
                        ('act', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='kit_assembly', serialize=False, to='inventory.act')),
                        ('lot', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='assembly', to='inventory.lot')),
                        ('boxes', models.PositiveIntegerField()),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(('boxes__gte', 1)), name='kit_assembly_has_boxes')],
                    },
                ),
                migrations.CreateModel(
                    name='LateAct',
                    fields=[
                        ('act', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='late_act', serialize=False, to='inventory.act')),
                        ('key', models.UUIDField(help_text="the act's own number, made by the device", unique=True)),
                        ('kind', models.CharField(max_length=40)),
                        ('of', models.CharField(blank=True, help_text='job, pick list or other thing that it was about', max_length=80)),
                        ('body', models.JSONField(help_text='as it was sent')),
                        ('problem', models.JSONField(help_text='the answer: why not')),
                    ],
                ),
                migrations.CreateModel(
                    name='LifeExtension',
                    fields=[
                        ('act', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='+', serialize=False, to='inventory.act')),
                        ('lot', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='extensions', to='inventory.lot')),
                        ('before', models.DateField()),
                        ('before_rule', models.CharField(blank=True, help_text='by which rule the life ran before', max_length=200)),
                        ('after', models.DateField()),
                        ('sample_pieces', models.PositiveIntegerField()),
                        ('found', models.TextField(help_text='what the inspection found')),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(('after__gt', models.F('before'))), name='life_extension_is_longer'), models.CheckConstraint(condition=models.Q(('sample_pieces__gte', 1)), name='life_extension_has_sample')],
                    },
                ),
                migrations.CreateModel(
                    name='LotDates',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                        ('lot', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='dates', to='inventory.lot')),
                        ('before', models.BooleanField()),
                        ('cure_code', models.CharField(blank=True, max_length=20)),
                        ('made_on', models.DateField(blank=True, null=True)),
                        ('printed_on', models.DateField(blank=True, null=True)),
                        ('expires_on', models.DateField(blank=True, null=True)),
                        ('expiry_rule', models.CharField(blank=True, max_length=200)),
                    ],
                ),
                migrations.CreateModel(
                    name='OffJob',
                    fields=[
                        ('act', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='off_job', serialize=False, to='inventory.act')),
                        ('what', models.CharField(choices=[('counter sale', 'counter sale'), ('workshop use', 'workshop use'), ('emergency buy', 'emergency buy')], max_length=16)),
                        ('demand', models.BooleanField(help_text='counts in the history of demand')),
                        ('buyer', models.ForeignKey(blank=True, help_text='of a sale: who bought it, to be reached in a recall', null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.owner')),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(models.Q(('buyer__isnull', False), ('what', 'counter sale')), models.Q(models.Q(('what', 'counter sale'), _negated=True), ('buyer__isnull', True)), _connector='OR'), name='off_job_sale_has_buyer')],
                    },
                ),
                migrations.CreateModel(
                    name='Outcome',
                    fields=[
                        ('act', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='outcome', serialize=False, to='inventory.act')),
                        ('body', models.JSONField()),
                    ],
                ),
                migrations.CreateModel(
                    name='PartJoin',
                    fields=[
                        ('act', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='+', serialize=False, to='inventory.act')),
                        ('joined', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='joins', to='inventory.part')),
                        ('kept', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='joined_here', to='inventory.part')),
                        ('notice', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='join', to='inventory.replacement')),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(('joined', models.F('kept')), _negated=True), name='join_of_two_records')],
                    },
                ),
                migrations.CreateModel(
                    name='PartPhoto',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('part', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='photos', to='inventory.part')),
                        ('revision', models.PositiveIntegerField()),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                        ('link', models.CharField(help_text='an address, or where it hangs', max_length=500)),
                    ],
                    options={
                        'constraints': [models.UniqueConstraint(fields=('part', 'revision'), name='photo_revision_once'), models.CheckConstraint(condition=models.Q(('link', ''), _negated=True), name='photo_is_somewhere')],
                    },
                ),
                migrations.CreateModel(
                    name='PlaceStorage',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                        ('place', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='storage', to='inventory.place')),
                        ('spot', models.CharField(blank=True, help_text='name of the spot; empty: the whole place', max_length=80)),
                        ('classes', models.JSONField(default=list, help_text='storage classes it is good for')),
                        ('low_mk', models.BigIntegerField(blank=True, null=True)),
                        ('high_mk', models.BigIntegerField(blank=True, null=True)),
                        ('note', models.CharField(blank=True, max_length=200)),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(('low_mk__isnull', True), ('high_mk__isnull', True), ('low_mk__lte', models.F('high_mk')), _connector='OR'), name='place_storage_low_below_high')],
                    },
                ),
                migrations.CreateModel(
                    name='PurchaseOrder',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='purchase_orders', to='inventory.act')),
                        ('number', models.CharField(max_length=40, unique=True)),
                        ('supplier', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='orders', to='inventory.supplier')),
                        ('note', models.CharField(blank=True, max_length=200)),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(('number', ''), _negated=True), name='order_number_not_empty')],
                    },
                ),
                migrations.CreateModel(
                    name='Receipt',
                    fields=[
                        ('act', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='receipt', serialize=False, to='inventory.act')),
                        ('supplier', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='receipts', to='inventory.supplier')),
                        ('note', models.CharField(blank=True, help_text='delivery note', max_length=120)),
                    ],
                ),
                migrations.CreateModel(
                    name='SafetySheet',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('part', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='safety_sheets', to='inventory.part')),
                        ('revision', models.PositiveIntegerField()),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                        ('link', models.CharField(help_text='an address, or where it hangs', max_length=500)),
                        ('issued_on', models.DateField()),
                    ],
                    options={
                        'constraints': [models.UniqueConstraint(fields=('part', 'revision'), name='safety_sheet_revision_once'), models.CheckConstraint(condition=models.Q(('link', ''), _negated=True), name='safety_sheet_is_somewhere')],
                    },
                ),
                migrations.CreateModel(
                    name='SamplePlan',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='sample_plans', to='inventory.act')),
                        ('part', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='sample_plans', to='inventory.part')),
                        ('supplier', models.ForeignKey(blank=True, db_index=False, null=True, on_delete=django.db.models.deletion.PROTECT, to='inventory.supplier')),
                        ('sample', models.PositiveIntegerField()),
                        ('accept', models.PositiveIntegerField()),
                        ('checks', models.TextField(blank=True, help_text='what is looked at: dimensions, hardness, and by what')),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(('accept__lt', models.F('sample')), models.Q(('accept', 0), ('sample', 0)), _connector='OR'), name='sample_plan_may_fail')],
                    },
                ),
                migrations.CreateModel(
                    name='SealantSheet',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('part', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='sheets', to='inventory.part')),
                        ('revision', models.PositiveIntegerField()),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                        ('edition', models.CharField(help_text='which sheet, its edition and page', max_length=200)),
                        ('cures_by', models.CharField(choices=[('moisture of the air', 'moisture of the air'), ('absence of air', 'absence of air'), ('drying', 'drying')], max_length=40)),
                        ('density_mg_per_ml', models.PositiveIntegerField(blank=True, null=True)),
                        ('open_days', models.PositiveIntegerField(blank=True, null=True)),
                        ('entries', models.JSONField(default=list)),
                        ('sensor_safe', models.BooleanField(help_text='harms no sensors; null: the sheet is silent', null=True)),
                    ],
                    options={
                        'constraints': [models.UniqueConstraint(fields=('part', 'revision'), name='sheet_revision_once')],
                    },
                ),
                migrations.CreateModel(
                    name='SetBreak',
                    fields=[
                        ('serial', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='broken', serialize=False, to='inventory.serial')),
                        ('act', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='set_breaks', to='inventory.act')),
                        ('damaged', models.CharField(blank=True, help_text='liner, piston or pin; empty: none', max_length=6)),
                        ('missing', models.CharField(blank=True, help_text='members that were not there, parted by spaces', max_length=20)),
                        ('why', models.TextField()),
                        ('photo_ref', models.CharField(blank=True, help_text='where the photo of the damage is kept', max_length=200)),
                        ('no_photo', models.CharField(blank=True, help_text='why there is no photo of the damage', max_length=200)),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(('damaged', ''), ('missing', ''), _negated=True), name='set_break_names_a_member'), models.CheckConstraint(condition=models.Q(('damaged', ''), models.Q(('no_photo', ''), ('photo_ref', ''), _negated=True), _connector='OR'), name='set_break_photo_or_why')],
                    },
                ),
                migrations.CreateModel(
                    name='SetLabelling',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                        ('matched_set', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='labellings', to='inventory.matchedset')),
                        ('before', models.BooleanField()),
                        ('weight_mg', models.BigIntegerField(blank=True, null=True)),
                        ('weighed', models.CharField(blank=True, max_length=20)),
                        ('bore_nm', models.BigIntegerField(blank=True, null=True)),
                        ('piston_nm', models.BigIntegerField(blank=True, null=True)),
                        ('grade', models.CharField(blank=True, max_length=20)),
                        ('liner_mark', models.CharField(blank=True, max_length=60)),
                        ('piston_mark', models.CharField(blank=True, max_length=60)),
                        ('photo', models.CharField(blank=True, max_length=500)),
                    ],
                ),
                migrations.CreateModel(
                    name='SetMatch',
                    fields=[
                        ('serial', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='match', serialize=False, to='inventory.serial')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='set_matches', to='inventory.act')),
                        ('signed_by', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                    ],
                ),
                migrations.CreateModel(
                    name='SupplierReturn',
                    fields=[
                        ('act', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='supplier_return', serialize=False, to='inventory.act')),
                        ('supplier', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='returns', to='inventory.supplier')),
                        ('note', models.CharField(help_text='number of the return note', max_length=120)),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(('note', ''), _negated=True), name='supplier_return_has_note')],
                    },
                ),
                migrations.CreateModel(
                    name='TemperatureReading',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                        ('place', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.place')),
                        ('at', models.DateTimeField()),
                        ('value_mk', models.BigIntegerField()),
                        ('typed', models.CharField(max_length=40)),
                        ('thermometer', models.CharField(help_text='which thermometer or recorder', max_length=60)),
                    ],
                    options={
                        'indexes': [models.Index(fields=['place', 'at'], name='temperature_of_place')],
                        'constraints': [models.CheckConstraint(condition=models.Q(('value_mk__gte', 0)), name='temperature_not_below_zero_kelvin'), models.CheckConstraint(condition=models.Q(('thermometer', ''), _negated=True), name='temperature_names_thermometer')],
                    },
                ),
                migrations.CreateModel(
                    name='TransferNote',
                    fields=[
                        ('act', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='transfer_note', serialize=False, to='inventory.act')),
                        ('from_site', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.site')),
                        ('to_site', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.site')),
                        ('spot', models.OneToOneField(help_text='in the van', on_delete=django.db.models.deletion.PROTECT, related_name='transfer_note', to='inventory.spot')),
                        ('driver', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                        ('expected_on', models.DateField(blank=True, help_text='when it should be there; empty: nobody said', null=True)),
                    ],
                ),
                migrations.CreateModel(
                    name='Tube',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('part', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, to='inventory.part')),
                        ('lot', models.ForeignKey(blank=True, db_index=False, null=True, on_delete=django.db.models.deletion.PROTECT, to='inventory.lot')),
                        ('number', models.CharField(max_length=60, unique=True)),
                        ('opened_on', models.DateField()),
                        ('use_by', models.DateField(blank=True, null=True)),
                    ],
                ),
                migrations.CreateModel(
                    name='CertificateLot',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('certificate', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='links', to='inventory.certificate')),
                        ('lot', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='certificates', to='inventory.lot')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='certificate_links', to='inventory.act')),
                    ],
                ),
                migrations.CreateModel(
                    name='CountPosting',
                    fields=[
                        ('act', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='count_posting', serialize=False, to='inventory.act')),
                        ('sheet', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='posting', to='inventory.countsheet')),
                    ],
                ),
                migrations.CreateModel(
                    name='CountSheetBin',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('sheet', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='bins', to='inventory.countsheet')),
                        ('number', models.PositiveIntegerField()),
                        ('spot', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.spot')),
                        ('part', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.part')),
                        ('count_class', models.CharField(choices=[('high value', 'high value'), ('middle value', 'middle value'), ('low value', 'low value'), ('nuisance', 'nuisance')], max_length=20)),
                    ],
                    options={
                        'constraints': [models.UniqueConstraint(fields=('sheet', 'number'), name='count_sheet_bin_number'), models.UniqueConstraint(fields=('sheet', 'spot', 'part'), name='count_sheet_bin_once')],
                    },
                ),
                migrations.CreateModel(
                    name='ImportAnswer',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                        ('file', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='answers', to='inventory.importfile')),
                        ('line', models.PositiveIntegerField()),
                        ('column', models.CharField(blank=True, max_length=40)),
                        ('said', models.CharField(blank=True, max_length=2000)),
                    ],
                    options={
                        'constraints': [models.UniqueConstraint(fields=('file', 'line', 'column', 'act'), name='import_answer_once_in_act')],
                    },
                ),
                migrations.CreateModel(
                    name='ImportBooked',
                    fields=[
                        ('act', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='+', serialize=False, to='inventory.act')),
                        ('file', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='booked', to='inventory.importfile')),
                    ],
                ),
                migrations.CreateModel(
                    name='ImportRow',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('file', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='rows', to='inventory.importfile')),
                        ('line', models.PositiveIntegerField(help_text='row number in the file')),
                        ('cells', models.JSONField(help_text="as it stands in the file, by column; under '' what stands in unknown columns")),
                        ('key', models.CharField(help_text='what the row is about: the same for rows of the same thing', max_length=300)),
                        ('verdict', models.CharField(choices=[('accepted', 'accepted'), ('questioned', 'questioned'), ('refused', 'refused')], max_length=10)),
                        ('known', models.BooleanField(default=False, help_text='on record as it stands: nothing is to be done')),
                        ('values', models.JSONField()),
                        ('doubts', models.JSONField(default=list)),
                        ('errors', models.JSONField(default=list)),
                        ('warnings', models.JSONField(default=list)),
                    ],
                    options={
                        'indexes': [models.Index(fields=['file', 'key'], name='import_row_key'), models.Index(fields=['file', 'verdict', 'line'], name='import_row_verdict')],
                        'constraints': [models.UniqueConstraint(fields=('file', 'line'), name='import_row_once'), models.CheckConstraint(condition=models.Q(('verdict', inventory.domain.import_rows.Verdict['ACCEPTED']), models.Q(('doubts', []), ('errors', []), _negated=True), _connector='OR'), name='import_row_says_why')],
                    },
                ),
                migrations.CreateModel(
                    name='Item',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('part', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='items', to='inventory.part')),
                        ('identity', models.CharField(max_length=300)),
                        ('lot', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='items', to='inventory.lot')),
                        ('serial', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='items', to='inventory.serial')),
                        ('member', models.CharField(blank=True, choices=[('', ''), ('liner', 'liner'), ('piston', 'piston'), ('pin', 'pin')], default='', max_length=6)),
                        ('tube', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='items', to='inventory.tube')),
                        ('from_kit', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='contents', to='inventory.item')),
                        ('base', models.CharField(choices=[('piece', 'piece'), ('microlitre', 'microlitre'), ('milligram', 'milligram'), ('nanometre', 'nanometre')], max_length=12)),
                        ('single', models.BooleanField(help_text='a thing with a serial: there is one of it, in one real place')),
                    ],
                    options={
                        'indexes': [models.Index(condition=models.Q(('lot__isnull', True), ('serial__isnull', True)), fields=['part'], name='item_lot_unknown')],
                        'constraints': [models.UniqueConstraint(fields=('part', 'identity'), name='item_once'), models.CheckConstraint(condition=models.Q(('identity', ''), _negated=True), name='item_identity_not_empty'), models.CheckConstraint(condition=models.Q(models.Q(('serial__isnull', False), ('single', True)), models.Q(('serial__isnull', True), ('single', False)), _connector='OR'), name='item_single_has_serial'), models.CheckConstraint(condition=models.Q(('member', ''), ('serial__isnull', False), _connector='OR'), name='item_member_has_serial')],
                    },
                ),
                migrations.CreateModel(
                    name='LotInspection',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='lot_inspections', to='inventory.act')),
                        ('receipt', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='inspections', to='inventory.receipt')),
                        ('lot', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='inspections', to='inventory.lot')),
                        ('plan', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='inspections', to='inventory.sampleplan')),
                        ('sampled', models.PositiveIntegerField()),
                        ('bad', models.PositiveIntegerField()),
                        ('results', models.JSONField(default=list, help_text='what was measured, as it was written down')),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(('sampled__gte', 1)), name='inspection_sampled_something'), models.CheckConstraint(condition=models.Q(('bad__lte', models.F('sampled'))), name='inspection_bad_within_sample')],
                    },
                ),
                migrations.CreateModel(
                    name='OrderLine',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('order', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='lines', to='inventory.purchaseorder')),
                        ('line', models.PositiveIntegerField()),
                        ('part', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='ordered', to='inventory.part')),
                        ('amount', models.BigIntegerField()),
                        ('typed', models.CharField(blank=True, help_text='amount as typed', max_length=40)),
                        ('total_coins', models.BigIntegerField(blank=True, null=True)),
                        ('job', models.CharField(blank=True, db_index=True, help_text='number of the job it is for', max_length=80)),
                    ],
                    options={
                        'constraints': [models.UniqueConstraint(fields=('order', 'line'), name='order_line_once'), models.CheckConstraint(condition=models.Q(('amount__gt', 0)), name='order_line_amount_positive'), models.CheckConstraint(condition=models.Q(('total_coins__isnull', True), ('total_coins__gte', 0), _connector='OR'), name='order_line_total_not_negative')],
                    },
                ),
                migrations.CreateModel(
                    name='SafetySheetReading',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('sheet', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='readings', to='inventory.safetysheet')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                        ('person', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                    ],
                    options={
                        'constraints': [models.UniqueConstraint(fields=('sheet', 'person'), name='safety_sheet_read_once')],
                    },
                ),
                migrations.CreateModel(
                    name='SheetReading',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('sheet', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='readings', to='inventory.sealantsheet')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                        ('person', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                    ],
                    options={
                        'constraints': [models.UniqueConstraint(fields=('sheet', 'person'), name='sheet_read_once')],
                    },
                ),
                migrations.CreateModel(
                    name='TemperatureWithdrawal',
                    fields=[
                        ('reading', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='withdrawal', serialize=False, to='inventory.temperaturereading')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                        ('reason', models.TextField()),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(('reason', ''), _negated=True), name='temperature_withdrawal_says_why')],
                    },
                ),
                migrations.CreateModel(
                    name='TransferTaking',
                    fields=[
                        ('act', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='transfer_taking', serialize=False, to='inventory.act')),
                        ('note', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='takings', to='inventory.transfernote')),
                        ('alone', models.BooleanField()),
                    ],
                ),
                migrations.CreateModel(
                    name='Balance',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('item', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='balances', to='inventory.item')),
                        ('spot', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.spot')),
                        ('place', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.place')),
                        ('part', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.part')),
                        ('amount', models.BigIntegerField(default=0)),
                        ('held', models.BigIntegerField(default=0)),
                        ('real', models.BooleanField()),
                        ('single', models.BooleanField()),
                        ('pickable', models.BooleanField()),
                        ('in_shop', models.BooleanField()),
                        ('last_at', models.DateTimeField(help_text='latest occurred_at that touched this row: earlier acts are checked in full')),
                    ],
                    options={
                        'indexes': [models.Index(condition=models.Q(('amount__gt', 0)), fields=['place'], name='balance_in_place'), models.Index(condition=models.Q(('amount__gt', 0), ('pickable', True)), fields=['part'], name='balance_pickable_part'), models.Index(condition=models.Q(('amount__gt', 0), ('in_shop', True)), fields=['part'], name='balance_on_hand_part')],
                        'constraints': [models.UniqueConstraint(fields=('item', 'spot'), name='balance_once'), models.UniqueConstraint(condition=models.Q(('amount__gt', 0), ('real', True), ('single', True)), fields=('item',), name='balance_single_in_one_place'), models.CheckConstraint(condition=models.Q(('real', False), models.Q(('held__gte', 0), ('amount__gte', models.F('held'))), _connector='OR'), name='balance_real_not_negative'), models.CheckConstraint(condition=models.Q(('single', False), ('real', False), ('amount__lte', 1), _connector='OR'), name='balance_single_at_most_one'), models.CheckConstraint(condition=models.Q(('pickable', True), ('held', 0), _connector='OR'), name='balance_held_only_pickable')],
                    },
                ),
                migrations.CreateModel(
                    name='Clash',
                    fields=[
                        ('late', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='clash', serialize=False, to='inventory.lateact')),
                        ('item', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='clashes', to='inventory.item')),
                        ('first', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                    ],
                ),
                migrations.CreateModel(
                    name='CountedLine',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('act', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='counted_lines', to='inventory.act')),
                        ('item', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.item')),
                        ('spot', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.spot')),
                        ('at', models.DateTimeField(help_text='when it was counted; what was moved after that is not in it')),
                        ('on_books', models.BigIntegerField()),
                        ('counted', models.BigIntegerField()),
                        ('reason', models.TextField(blank=True, help_text='of the difference')),
                        ('by_two', models.BooleanField(default=False, help_text='two people found the same, each on their own')),
                    ],
                    options={
                        'indexes': [models.Index(fields=['item', 'spot', 'at'], name='counted_line_of_thing')],
                        'constraints': [models.CheckConstraint(condition=models.Q(('counted__gte', 0)), name='counted_line_not_negative')],
                    },
                ),
                migrations.CreateModel(
                    name='CountSheetLine',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('sheet', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='lines', to='inventory.countsheet')),
                        ('number', models.PositiveIntegerField()),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                        ('bin', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='lines', to='inventory.countsheetbin')),
                        ('item', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.item')),
                    ],
                    options={
                        'constraints': [models.UniqueConstraint(fields=('sheet', 'number'), name='count_sheet_line_number'), models.UniqueConstraint(fields=('bin', 'item'), name='count_sheet_line_once')],
                    },
                ),
                migrations.CreateModel(
                    name='Hold',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('act', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='holds', to='inventory.act')),
                        ('item', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='holds', to='inventory.item')),
                        ('from_spot', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.spot')),
                        ('to_spot', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.spot')),
                        ('amount', models.BigIntegerField()),
                        ('needed_on', models.DateField(help_text='day of fitting as it was planned then')),
                        ('until', models.DateField(blank=True, help_text='past this day the hold has lapsed: listed, not freed by itself', null=True)),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(('amount__gt', 0)), name='hold_amount_positive')],
                    },
                ),
                migrations.CreateModel(
                    name='KeptPiece',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('act', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='kept_pieces', to='inventory.act')),
                        ('lot', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='kept_pieces', to='inventory.lot')),
                        ('item', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='kept_pieces', to='inventory.item')),
                        ('spot', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.spot')),
                        ('amount', models.PositiveIntegerField()),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(('amount__gte', 1)), name='kept_piece_positive')],
                    },
                ),
                migrations.CreateModel(
                    name='Movement',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('act', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='movements', to='inventory.act')),
                        ('item', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='movements', to='inventory.item')),
                        ('amount', models.BigIntegerField()),
                        ('from_spot', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.spot')),
                        ('to_spot', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.spot')),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(('amount__gt', 0)), name='movement_amount_positive'), models.CheckConstraint(condition=models.Q(('from_spot', models.F('to_spot')), _negated=True), name='movement_goes_somewhere')],
                    },
                ),
                migrations.CreateModel(
                    name='OffJobLine',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('off_job', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='lines', to='inventory.offjob')),
                        ('item', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='off_job_lines', to='inventory.item')),
                        ('amount', models.BigIntegerField()),
                        ('spot', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.spot')),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(('amount__gt', 0)), name='off_job_line_amount_positive')],
                    },
                ),
                migrations.CreateModel(
                    name='OldUnit',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('act', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='old_units', to='inventory.act')),
                        ('item', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='old_units', to='inventory.item')),
                        ('grade', models.CharField(choices=[('complete', 'complete'), ('incomplete', 'incomplete'), ('damaged', 'damaged'), ('not looked at', 'not looked at')], max_length=16)),
                        ('condition', models.CharField(blank=True, max_length=200)),
                        ('supplier', models.ForeignKey(blank=True, help_text='where it goes', null=True, on_delete=django.db.models.deletion.PROTECT, related_name='old_units', to='inventory.supplier')),
                        ('send_back_by', models.DateField(blank=True, null=True)),
                    ],
                ),
                migrations.CreateModel(
                    name='OrderLineEnd',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('line', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='ends', to='inventory.orderline')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='order_ends', to='inventory.act')),
                        ('amount', models.BigIntegerField()),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(('amount__gt', 0)), name='order_end_amount_positive')],
                    },
                ),
                migrations.CreateModel(
                    name='OrderPromise',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('line', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='promises', to='inventory.orderline')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='promises', to='inventory.act')),
                        ('promised_on', models.DateField()),
                    ],
                ),
                migrations.CreateModel(
                    name='ReceiptLine',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('receipt', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='lines', to='inventory.receipt')),
                        ('item', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='receipt_lines', to='inventory.item')),
                        ('amount', models.BigIntegerField()),
                        ('total_coins', models.BigIntegerField(blank=True, null=True)),
                        ('typed', models.CharField(blank=True, help_text='amount as typed', max_length=40)),
                        ('order_line', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='receipt_lines', to='inventory.orderline')),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(('amount__gt', 0)), name='receipt_line_amount_positive'), models.CheckConstraint(condition=models.Q(('total_coins__isnull', True), ('total_coins__gte', 0), _connector='OR'), name='receipt_line_total_not_negative')],
                    },
                ),
                migrations.CreateModel(
                    name='Scrap',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('act', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='scraps', to='inventory.act')),
                        ('item', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='scraps', to='inventory.item')),
                        ('spot', models.ForeignKey(db_index=False, help_text='where it lay', on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.spot')),
                        ('amount', models.BigIntegerField()),
                        ('who_pays', models.CharField(choices=[('job', 'job'), ('shop', 'shop'), ('supplier', 'supplier'), ('maker', 'maker')], max_length=8)),
                        ('photo_ref', models.CharField(blank=True, help_text='where the photo is kept', max_length=200)),
                        ('no_photo', models.CharField(blank=True, help_text='why there is no photo of a matched set', max_length=200)),
                        ('destroyed', models.BooleanField(help_text='made unusable: rings cut, bolts marked')),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(('amount__gt', 0)), name='scrap_amount_positive'), models.CheckConstraint(condition=models.Q(('who_pays__in', ['job', 'shop', 'supplier', 'maker'])), name='scrap_paid_by_somebody')],
                    },
                ),
                migrations.CreateModel(
                    name='SetMatchMember',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('match', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='members', to='inventory.setmatch')),
                        ('member', models.CharField(choices=[('liner', 'liner'), ('piston', 'piston'), ('pin', 'pin')], max_length=6)),
                        ('item', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='matched_into', to='inventory.item')),
                    ],
                    options={
                        'constraints': [models.UniqueConstraint(fields=('match', 'member'), name='set_match_member_once'), models.CheckConstraint(condition=models.Q(('member', ''), _negated=True), name='set_match_member_named')],
                    },
                ),
                migrations.CreateModel(
                    name='Stop',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('act', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='stops', to='inventory.act')),
                        ('lot', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='stops', to='inventory.lot')),
                        ('item', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='stops', to='inventory.item')),
                        ('reason', models.TextField()),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(models.Q(('item__isnull', True), ('lot__isnull', False)), models.Q(('item__isnull', False), ('lot__isnull', True)), _connector='OR'), name='stop_one_target')],
                    },
                ),
                migrations.CreateModel(
                    name='StorageCheck',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='storage_checks', to='inventory.act')),
                        ('item', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='storage_checks', to='inventory.item')),
                        ('spot', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.spot')),
                        ('wrong', models.CharField(blank=True, max_length=200)),
                        ('set_aside', models.BooleanField(default=False)),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(('set_aside', False), models.Q(('wrong', ''), _negated=True), _connector='OR'), name='storage_check_set_aside_for_something')],
                    },
                ),
                migrations.CreateModel(
                    name='StorageWord',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='storage_words', to='inventory.act')),
                        ('item', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='storage_words', to='inventory.item')),
                        ('spot', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.spot')),
                        ('asked', models.JSONField()),
                        ('word', models.TextField()),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(('word', ''), _negated=True), name='storage_word_says_why')],
                    },
                ),
                migrations.CreateModel(
                    name='TransferNoteLine',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('note', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='lines', to='inventory.transfernote')),
                        ('line', models.PositiveIntegerField()),
                        ('item', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='transfer_lines', to='inventory.item')),
                        ('amount', models.BigIntegerField()),
                        ('typed', models.CharField(blank=True, help_text='amount as typed', max_length=40)),
                        ('from_spot', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.spot')),
                        ('for_job', models.CharField(blank=True, help_text='job of the other site that it is for', max_length=80)),
                    ],
                    options={
                        'constraints': [models.UniqueConstraint(fields=('note', 'line'), name='transfer_line_once'), models.CheckConstraint(condition=models.Q(('amount__gt', 0)), name='transfer_line_amount_positive')],
                    },
                ),
                migrations.CreateModel(
                    name='Accepted',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('line', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='accepted', to='inventory.receiptline')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='accepted', to='inventory.act')),
                        ('amount', models.BigIntegerField()),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(('amount__gt', 0)), name='accepted_amount_positive')],
                    },
                ),
                migrations.CreateModel(
                    name='AsideGone',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('line', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='gone', to='inventory.receiptline')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                        ('amount', models.BigIntegerField()),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(('amount__gt', 0)), name='aside_gone_amount_positive')],
                    },
                ),
                migrations.CreateModel(
                    name='ClashAnswer',
                    fields=[
                        ('act', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='+', serialize=False, to='inventory.act')),
                        ('clash', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='answer', to='inventory.clash')),
                        ('second_is_right', models.BooleanField(help_text='false: the first story is true')),
                        ('words', models.TextField()),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(('words', ''), _negated=True), name='clash_answer_has_words')],
                    },
                ),
                migrations.CreateModel(
                    name='Deposit',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('side', models.CharField(choices=[('supplier', 'supplier'), ('customer', 'customer')], max_length=8)),
                        ('supplier', models.ForeignKey(blank=True, help_text='who was paid', null=True, on_delete=django.db.models.deletion.PROTECT, related_name='deposits', to='inventory.supplier')),
                        ('part', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.part')),
                        ('job', models.CharField(blank=True, db_index=True, max_length=80)),
                        ('receipt', models.ForeignKey(blank=True, db_index=False, null=True, on_delete=django.db.models.deletion.PROTECT, to='inventory.receipt')),
                        ('unit', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='deposits', to='inventory.oldunit')),
                        ('due_on', models.DateField(blank=True, help_text='last day for sending the old unit back', null=True)),
                        ('outstanding_coins', models.BigIntegerField()),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(('outstanding_coins__gte', 0)), name='deposit_outstanding_not_negative'), models.CheckConstraint(condition=models.Q(models.Q(('side', 'supplier'), ('supplier__isnull', False)), models.Q(('side', 'customer'), ('supplier__isnull', True)), _connector='OR'), name='deposit_supplier_by_side'), models.CheckConstraint(condition=models.Q(('side', 'supplier'), models.Q(('job', ''), _negated=True), _connector='OR'), name='deposit_customer_has_job')],
                    },
                ),
                migrations.CreateModel(
                    name='Free',
                    fields=[
                        ('stop', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='freed', serialize=False, to='inventory.stop')),
                        ('act', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='frees', to='inventory.act')),
                        ('reason', models.TextField()),
                    ],
                ),
                migrations.CreateModel(
                    name='HoldEnd',
                    fields=[
                        ('hold', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='end', serialize=False, to='inventory.hold')),
                        ('act', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='hold_ends', to='inventory.act')),
                        ('how', models.CharField(choices=[('picked', 'Picked'), ('released', 'Released'), ('lapsed', 'Lapsed'), ('made impossible', 'Impossible')], max_length=16)),
                        ('picked', models.BigIntegerField(default=0, help_text='how much was picked; the rest was freed')),
                        ('why', models.TextField(blank=True)),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(models.Q(('how', 'picked'), ('picked__gt', 0)), models.Q(models.Q(('how', 'picked'), _negated=True), ('picked', 0)), _connector='OR'), name='hold_end_picked_only_when_picked')],
                    },
                ),
                migrations.CreateModel(
                    name='InvoiceTotal',
                    fields=[
                        ('act', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='invoice_total', serialize=False, to='inventory.act')),
                        ('line', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='invoice_totals', to='inventory.receiptline')),
                        ('coins', models.BigIntegerField()),
                        ('note', models.CharField(blank=True, help_text='number of the invoice', max_length=120)),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(('coins__gte', 0)), name='invoice_total_not_negative')],
                    },
                ),
                migrations.CreateModel(
                    name='KeptEnd',
                    fields=[
                        ('kept', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='end', serialize=False, to='inventory.keptpiece')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                        ('how', models.CharField(choices=[('released', 'released'), ('given up', 'given up'), ('missing', 'missing'), ('taken back', 'taken back'), ('moved', 'moved')], max_length=10)),
                        ('why', models.TextField()),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(('why', ''), _negated=True), name='kept_end_says_why')],
                    },
                ),
                migrations.CreateModel(
                    name='LoanRequest',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                        ('hold', models.ForeignKey(help_text="the donor's", on_delete=django.db.models.deletion.PROTECT, related_name='loan_requests', to='inventory.hold')),
                        ('to_spot', models.ForeignKey(help_text="the borrower's cart", on_delete=django.db.models.deletion.PROTECT, related_name='loan_requests', to='inventory.spot')),
                        ('amount', models.BigIntegerField()),
                        ('asked_of', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                        ('minutes', models.PositiveIntegerField(help_text='to answer in, as the shop had it on that day')),
                        ('reason', models.TextField()),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(('amount__gt', 0)), name='loan_request_amount_positive')],
                    },
                ),
                migrations.CreateModel(
                    name='OldUnitSent',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('unit', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='sent', to='inventory.oldunit')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='old_units_sent', to='inventory.act')),
                        ('supplier', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.supplier')),
                    ],
                ),
                migrations.CreateModel(
                    name='OldUnitTag',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('unit', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='tags', to='inventory.oldunit')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                        ('tag', models.CharField(max_length=60, unique=True)),
                        ('job', models.CharField(db_index=True, help_text='number of the job whose deposit it is', max_length=80)),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(('tag', ''), _negated=True), name='old_unit_tag_not_empty'), models.CheckConstraint(condition=models.Q(('job', ''), _negated=True), name='old_unit_tag_has_job')],
                    },
                ),
                migrations.CreateModel(
                    name='Reject',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('line', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='rejects', to='inventory.receiptline')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='rejects', to='inventory.act')),
                        ('amount', models.BigIntegerField()),
                        ('after', models.BooleanField()),
                        ('reason', models.TextField()),
                        ('photos', models.JSONField(default=list)),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(('amount__gt', 0)), name='reject_amount_positive'), models.CheckConstraint(condition=models.Q(('reason', ''), _negated=True), name='reject_says_why')],
                    },
                ),
                migrations.CreateModel(
                    name='SetAside',
                    fields=[
                        ('line', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='aside', serialize=False, to='inventory.receiptline')),
                        ('why', models.CharField(choices=[('rejected', 'rejected'), ('undated', 'undated'), ('past its day', 'past its day'), ('old stock withdrawn', 'old stock withdrawn'), ('stopped', 'stopped'), ('to be sorted', 'to be sorted'), ('label implausible', 'label implausible'), ('certificate differs', 'certificate differs'), ('to be inspected', 'to be inspected'), ('over', 'over'), ('not ordered', 'not ordered'), ('asked for', 'asked for')], max_length=20)),
                        ('words', models.CharField(max_length=300)),
                        ('inspect', models.BooleanField(default=False, help_text='a sample of its lot is to pass before it is released')),
                    ],
                ),
                migrations.CreateModel(
                    name='SheetCount',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                        ('line', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='counts', to='inventory.countsheetline')),
                        ('counted', models.BigIntegerField()),
                        ('typed', models.CharField(max_length=60)),
                        ('stored_wrongly', models.CharField(blank=True, max_length=200)),
                    ],
                    options={
                        'constraints': [models.UniqueConstraint(fields=('act', 'line'), name='sheet_count_once_in_act'), models.CheckConstraint(condition=models.Q(('counted__gte', 0)), name='sheet_count_not_negative')],
                    },
                ),
                migrations.CreateModel(
                    name='Short',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('act', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='shorts', to='inventory.act')),
                        ('hold', models.ForeignKey(blank=True, db_index=False, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.hold')),
                        ('to_spot', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.spot')),
                        ('part', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.part')),
                        ('amount', models.BigIntegerField()),
                        ('why', models.TextField()),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(('amount__gt', 0)), name='short_amount_positive')],
                    },
                ),
                migrations.CreateModel(
                    name='SoldReturn',
                    fields=[
                        ('act', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='sold_return', serialize=False, to='inventory.act')),
                        ('line', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='returns', to='inventory.offjobline')),
                        ('amount', models.BigIntegerField()),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(('amount__gt', 0)), name='sold_return_amount_positive')],
                    },
                ),
                migrations.CreateModel(
                    name='TransferExplained',
                    fields=[
                        ('act', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='transfer_explained', serialize=False, to='inventory.act')),
                        ('line', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='explained', to='inventory.transfernoteline')),
                        ('amount', models.BigIntegerField()),
                        ('how', models.CharField(choices=[('found later', 'found later'), ('sent back', 'sent back'), ('scrapped', 'scrapped'), ('counted short', 'counted short')], max_length=16)),
                        ('to_spot', models.ForeignKey(blank=True, db_index=False, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.spot')),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(('amount__gt', 0)), name='transfer_explained_amount_positive')],
                    },
                ),
                migrations.CreateModel(
                    name='TransferTaken',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('taking', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='taken', to='inventory.transfertaking')),
                        ('line', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='taken', to='inventory.transfernoteline')),
                        ('item', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.item')),
                        ('amount', models.BigIntegerField()),
                        ('over', models.BooleanField()),
                        ('from_spot', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.spot')),
                        ('to_spot', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.spot')),
                        ('words', models.CharField(blank=True, help_text='why it went to quarantine, what differs from the note', max_length=300)),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(('amount__gt', 0)), name='transfer_taken_amount_positive'), models.CheckConstraint(condition=models.Q(('over', True), ('line__isnull', False), _connector='OR'), name='transfer_taken_of_a_line_or_over')],
                    },
                ),
                migrations.CreateModel(
                    name='DepositEntry',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('deposit', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='entries', to='inventory.deposit')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                        ('what', models.CharField(choices=[('paid', 'paid'), ('refunded', 'refunded'), ('lost', 'lost')], max_length=8)),
                        ('coins', models.BigIntegerField()),
                        ('reverses', models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='reversed_by', to='inventory.depositentry')),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(('coins__gt', 0)), name='deposit_entry_positive')],
                    },
                ),
                migrations.CreateModel(
                    name='Loan',
                    fields=[
                        ('request', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='loan', serialize=False, to='inventory.loanrequest')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                        ('rest', models.OneToOneField(blank=True, help_text='empty: all was lent', null=True, on_delete=django.db.models.deletion.PROTECT, related_name='rest_of', to='inventory.hold')),
                        ('order_line', models.ForeignKey(blank=True, help_text='that pays it back', null=True, on_delete=django.db.models.deletion.PROTECT, related_name='paybacks', to='inventory.orderline')),
                        ('short', models.ForeignKey(blank=True, db_index=False, help_text='raised for the donor, where the payback comes too late or not at all', null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.short')),
                    ],
                ),
                migrations.CreateModel(
                    name='LoanAnswer',
                    fields=[
                        ('request', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='answer', serialize=False, to='inventory.loanrequest')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                        ('agreed', models.BooleanField()),
                        ('reason', models.TextField(blank=True)),
                    ],
                ),
                migrations.CreateModel(
                    name='SupplierReturnLine',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('sent', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='lines', to='inventory.supplierreturn')),
                        ('item', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='supplier_returns', to='inventory.item')),
                        ('reject', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='returns', to='inventory.reject')),
                        ('amount', models.BigIntegerField()),
                        ('coins', models.BigIntegerField(help_text='credit that is asked for')),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(('amount__gt', 0)), name='supplier_return_amount_positive'), models.CheckConstraint(condition=models.Q(('coins__gt', 0)), name='supplier_return_coins_positive')],
                    },
                ),
                migrations.CreateModel(
                    name='Credit',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('line', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='credits', to='inventory.supplierreturnline')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='credits', to='inventory.act')),
                        ('what', models.CharField(choices=[('credited', 'credited'), ('refused', 'refused')], max_length=8)),
                        ('coins', models.BigIntegerField()),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(('coins__gt', 0)), name='credit_coins_positive')],
                    },
                ),
                migrations.CreateModel(
                    name='LentHold',
                    fields=[
                        ('hold', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='lent', serialize=False, to='inventory.hold')),
                        ('loan', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='holds', to='inventory.loan')),
                    ],
                ),
                migrations.CreateModel(
                    name='LoanEnd',
                    fields=[
                        ('loan', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='end', serialize=False, to='inventory.loan')),
                        ('act', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.act')),
                        ('how', models.CharField(choices=[('given back', 'given back'), ('paid back', 'paid back'), ('not coming back', 'not coming back')], max_length=16)),
                        ('hold', models.OneToOneField(blank=True, help_text='of what was given back; empty: closed', null=True, on_delete=django.db.models.deletion.PROTECT, related_name='given_back', to='inventory.hold')),
                    ],
                    options={
                        'constraints': [models.CheckConstraint(condition=models.Q(models.Q(('hold__isnull', False), ('how', 'given back')), models.Q(models.Q(('how', 'given back'), _negated=True), ('hold__isnull', True)), _connector='OR'), name='loan_end_hold_when_given_back')],
                    },
                ),
            ],
        ),
    ]
