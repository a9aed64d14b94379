"""Every member of before has an address to sign in with, which whoever added them vouched for."""

from django.db import migrations


def forward(apps, schema_editor):
    EmailAddress = apps.get_model("account", "EmailAddress")
    Member = apps.get_model("members", "Member")
    known = set(EmailAddress.objects.values_list("user_id", flat=True))
    EmailAddress.objects.bulk_create(
        EmailAddress(user_id=member.pk, email=member.email.lower(), primary=True, verified=True)
        for member in Member.objects.exclude(pk__in=known)
    )
    for member in Member.objects.all():
        if member.email != member.email.lower():
            member.email = member.email.lower()
            member.save(update_fields=["email"])


class Migration(migrations.Migration):
    dependencies = [
        ("members", "0002_people_places_and_trail"),
        ("account", "0009_emailaddress_unique_primary_email"),
    ]

    operations = [migrations.RunPython(forward, migrations.RunPython.noop)]
