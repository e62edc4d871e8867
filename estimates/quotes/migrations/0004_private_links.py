import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('documents', '0001_initial'),
        ('quotes', '0003_paper_of_a_quote'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='QuoteLink',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('token_sha256', models.CharField(editable=False, max_length=64, unique=True)),
                ('recipient', models.CharField(blank=True, max_length=254, verbose_name='for')),
                ('made_at', models.DateTimeField(verbose_name='made')),
                ('expires_at', models.DateTimeField(verbose_name='ends')),
                ('revoked_at', models.DateTimeField(blank=True, null=True, verbose_name='revoked')),
                ('made_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('quote', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='links', to='quotes.quote')),
                ('revoked_by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'verbose_name': 'private link',
                'verbose_name_plural': 'private links',
                'ordering': ['-pk'],
                'constraints': [models.CheckConstraint(condition=models.Q(('expires_at__gt', models.F('made_at'))), name='quote_link_ends_after_it_was_made'), models.CheckConstraint(condition=models.Q(models.Q(('revoked_at', None), ('revoked_by', None)), models.Q(('revoked_at__isnull', False), ('revoked_by__isnull', False)), _connector='OR'), name='quote_link_revoked_by_somebody')],
            },
        ),
        migrations.CreateModel(
            name='LinkVisit',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('at', models.DateTimeField(verbose_name='at')),
                ('what', models.CharField(choices=[('read', 'read the quote'), ('paper', 'fetched the PDF'), ('signing', 'opened the page to sign'), ('incomplete', 'sent an answer that was not complete'), ('accepted', 'accepted'), ('declining', 'opened the page to decline'), ('declined', 'declined'), ('signed-paper', 'fetched the signed PDF'), ('closed', 'was told that the link is closed')], max_length=12, verbose_name='what')),
                ('agent', models.CharField(max_length=60, verbose_name='device')),
                ('staff', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('link', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='visits', to='quotes.quotelink')),
            ],
            options={
                'ordering': ['-pk'],
                'indexes': [models.Index(fields=['link', '-at'], name='link_visit_by_time')],
                'constraints': [models.CheckConstraint(condition=models.Q(('what__in', ['read', 'paper', 'signing', 'incomplete', 'accepted', 'declining', 'declined', 'signed-paper', 'closed'])), name='link_visit_what_known')],
            },
        ),
        migrations.CreateModel(
            name='Acceptance',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('name', models.CharField(max_length=120, verbose_name='name')),
                ('kind', models.CharField(choices=[('typed', 'typed'), ('drawn', 'drawn')], max_length=5, verbose_name='signature')),
                ('drawing', models.TextField(blank=True)),
                ('consent_version', models.CharField(max_length=20)),
                ('consent_text', models.TextField()),
                ('at', models.DateTimeField(verbose_name='signed')),
                ('paper_sha256', models.CharField(max_length=64)),
                ('file_sha256', models.CharField(blank=True, max_length=64)),
                ('agent', models.CharField(max_length=60, verbose_name='device')),
                ('document', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to='documents.documentrequest')),
                ('quote', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='acceptance', to='quotes.quote')),
                ('staff', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('link', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='acceptances', to='quotes.quotelink')),
            ],
            options={
                'verbose_name': 'electronic signature',
                'verbose_name_plural': 'electronic signatures',
                'ordering': ['-pk'],
                'constraints': [models.CheckConstraint(condition=models.Q(('name', ''), _negated=True), name='acceptance_has_a_name'), models.CheckConstraint(condition=models.Q(models.Q(('drawing', ''), ('kind', 'typed')), models.Q(('kind', 'drawn'), models.Q(('drawing', ''), _negated=True)), _connector='OR'), name='acceptance_drawn_has_its_drawing'), models.CheckConstraint(condition=models.Q(models.Q(('consent_text', ''), _negated=True), models.Q(('consent_version', ''), _negated=True)), name='acceptance_has_consent'), models.CheckConstraint(condition=models.Q(('paper_sha256', ''), _negated=True), name='acceptance_has_document_hash')],
            },
        ),
    ]
