"""Who may send a spreadsheet for a week, see what was sent, and take a week away as one."""

from scheduling.services import sheet_weeks
from scheduling.spreadsheets.reading import read_file
from tests.access_rows.world import EDIT, READ, SENT, Addresses, Rows, World

# What somebody sent is theirs alone: others who may edit the week find nothing there.
OWN_SENT = (200, 404, 403, 403, 404, 403, 404, 403, 404, 302)
OWN_SENT_ON = (422, 404, 403, 403, 404, 403, 404, 403, 404, 302)

ROWS: Rows = {
    ("scheduling:week-from-sheet", "GET"): EDIT,
    ("scheduling:week-from-sheet", "POST"): SENT,
    ("scheduling:week-sheet-look", "GET"): OWN_SENT,
    ("scheduling:week-sheet-look", "POST"): OWN_SENT_ON,
    ("scheduling:week-as-sheet", "GET"): READ,
    ("scheduling:week-take-sheet", "GET"): READ,
}

ADDRESSES: Addresses = {
    "scheduling:week-from-sheet": ("classroom",),
    "scheduling:week-sheet-look": ("classroom", "sent sheet"),
    "scheduling:week-as-sheet": ("week",),
    "scheduling:week-take-sheet": ("week", "sheet's shape", "sheet's kind"),
}


def prepare(world: World) -> None:
    read = read_file(b"Day,Time,Class,Notes\nMon,8:15-9:00,Mathematics,early\nTue,9:00-9:30,Choir,\n")
    sent = sheet_weeks.keep_sent(world.classroom, read, member=world.people["own"], file_name="week.csv")
    world.ids |= {"sent sheet": sent.pk, "sheet's shape": "grid", "sheet's kind": "xlsx"}
