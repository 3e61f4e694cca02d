"""Decay growth: what is computed of each decayed part, and a due-date rule of its own."""

import django.db.models.deletion
import django.db.models.functions.datetime
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('assessments', '0002_priority_storage'),
        ('inventory', '0001_initial'),
    ]

    operations = [
        migrations.CreateModel(
            name='DecayGrowth',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('part', models.TextField()),
                ('height_m', models.FloatField(null=True)),
                ('asked', models.JSONField()),
                ('method', models.TextField()),
                ('version', models.IntegerField()),
                ('rests_on', models.TextField()),
                ('result', models.JSONField()),
                ('banded', models.BooleanField()),
                ('first_year', models.SmallIntegerField(null=True)),
                ('due_on', models.DateField(null=True)),
                ('computed_at', models.DateTimeField(db_default=django.db.models.functions.datetime.Now())),
            ],
            options={
                'db_table': 'decay_growth',
            },
        ),
        migrations.RemoveConstraint(
            model_name='requiredcheck',
            name='required_check_source_word',
        ),
        migrations.AddField(
            model_name='priority',
            name='by_decay_growth',
            field=models.DateField(null=True),
        ),
        migrations.AlterField(
            model_name='requiredcheck',
            name='source',
            field=models.TextField(choices=[('assessor', 'assessor'), ('order', 'order'), ('decision', 'decision'), ('storm', 'storm'), ('project', 'project'), ('support', 'support'), ('request', 'request'), ('emergency', 'emergency'), ('decay', 'decay')]),
        ),
        migrations.AlterField(
            model_name='requiredcheckpast',
            name='source',
            field=models.TextField(choices=[('assessor', 'assessor'), ('order', 'order'), ('decision', 'decision'), ('storm', 'storm'), ('project', 'project'), ('support', 'support'), ('request', 'request'), ('emergency', 'emergency'), ('decay', 'decay')]),
        ),
        migrations.AddConstraint(
            model_name='requiredcheck',
            constraint=models.CheckConstraint(condition=models.Q(('source__in', ['assessor', 'order', 'decision', 'storm', 'project', 'support', 'request', 'emergency', 'decay'])), name='required_check_source_word'),
        ),
        migrations.AddField(
            model_name='decaygrowth',
            name='defect',
            field=models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='assessments.finding'),
        ),
        migrations.AddField(
            model_name='decaygrowth',
            name='finding',
            field=models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='decay_growths', to='assessments.finding'),
        ),
        migrations.AddField(
            model_name='decaygrowth',
            name='inspection',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='decay_growths', to='assessments.inspection'),
        ),
        migrations.AddField(
            model_name='decaygrowth',
            name='section',
            field=models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='decay_growths', to='assessments.section'),
        ),
        migrations.AddConstraint(
            model_name='decaygrowth',
            constraint=models.UniqueConstraint(fields=('inspection', 'section', 'finding', 'method', 'version', 'rests_on'), name='decay_growth_once', nulls_distinct=False),
        ),
        migrations.AddConstraint(
            model_name='decaygrowth',
            constraint=models.CheckConstraint(condition=models.Q(('method', ''), _negated=True), name='decay_growth_method_filled'),
        ),
        migrations.AddConstraint(
            model_name='decaygrowth',
            constraint=models.CheckConstraint(condition=models.Q(('part', ''), _negated=True), name='decay_growth_part_filled'),
        ),
        migrations.AddConstraint(
            model_name='decaygrowth',
            constraint=models.CheckConstraint(condition=models.Q(('section__isnull', False), ('finding__isnull', False), _connector='OR'), name='decay_growth_about'),
        ),
        migrations.AddConstraint(
            model_name='decaygrowth',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('due_on', None), ('first_year', None)), models.Q(('due_on__isnull', False), ('first_year__gte', 0)), _connector='OR'), name='decay_growth_due'),
        ),
    ]
