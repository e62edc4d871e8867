"""What the phone's scripts say, in the person's language: handed over as data, so no script holds a sentence.

Words in braces are filled in by the script.
"""

from django.utils.translation import gettext as _

from .sentences import KINDS


def script_words() -> dict[str, str]:
    """Return every sentence of the scripts by its name, in the language that is active."""
    return {
        **_sending(),
        **_clocks(),
        **_in_the_way(),
        **_photos(),
        **{f"kind-{kind}": str(name) for kind, name in KINDS.items()},
    }


def _sending() -> dict[str, str]:
    return {
        "allSent": _("All sent"),
        "waiting": _("{count} waiting"),
        "refused": _("{count} refused"),
        "saved": _("Saved on this phone. It is sent as soon as there is signal."),
        "sent": _("Sent."),
        "sending": _("Sending …"),
        "noSignal": _("No signal"),
        "lastSent": _("Last sent {time}"),
        "neverSent": _("Nothing was sent from this phone yet"),
        "signIn": _("You are signed out. What you entered is kept; sign in to send it."),
        "otherPerson": _(
            "{name} has entries waiting on this phone ({count}). {name} has to sign in to send them."
        ),
        "leave": _("Entries not sent yet: {count}. They stay on this phone until you sign in here again."),
        "draft": _("What you had typed here is still here; it is not entered yet."),
        "keeping": _("One moment: the phone is still keeping what you entered."),
        "notStored": _("This phone did not store the entry: {reason}. Write it down, and free some space."),
        "mend": _("Mend"),
        "again": _("Send again"),
        "drop": _("Drop it"),
        "dropSure": _("Really drop it? It cannot be brought back."),
        "mending": _("Put it right and send it. What you entered is filled in again."),
        "entryWaits": _("waits for signal"),
        "entryRefused": _("refused"),
        "entrySent": _("sent"),
        "fillIn": _("Fill in “{field}” first."),
        "bytesSent": _("{share} sent"),
        "serverAway": _("The office's computer does not answer; this phone tries again by itself."),
    }


def _clocks() -> dict[str, str]:
    return {
        "hoursMinutes": _("{hours} h {minutes} min"),
        "openLeft": _("{time} left to embed"),
        "openOver": _("Open time is over since {time}. Do not bed into it: scrape it off and spread anew."),
        "waitLeft": _("Wait {time} until clear and tacky"),
        "cureLeft": _("Cures, {time} left (until {until})"),
        "cured": _("Cured since {until}"),
        "timerRuns": _("Running since {time}"),
        "nothingYet": _("Not started"),
        "done": _("done"),
        "doneBy": _("{name}, {time}"),
    }


def _in_the_way() -> dict[str, str]:
    return {
        "failed": _("{place}: “{check}” failed."),
        "floodRuns": _("{place}: the flood test runs until {time}."),
        "undone": _("{place}, {hold}: still to be checked: {checks}."),
        "cures": _("Tile may start at {time}: the bond in {place} cures until then."),
        "mayFlood": _("The flood test may start at {time}: the membrane stands until then."),
        "stopped": _("Not yet"),
        "serverDecides": _("Recorded on this phone; the reading is judged when it is sent."),
        "endsEarly": _("The water has to stand until {time}. Ended now, the test fails."),
    }


def _photos() -> dict[str, str]:
    return {
        "photoWord": _("Photo"),
        "photoSaved": _("Photo saved on this phone."),
        "photosSaved": _("{count} photos saved on this phone."),
        "photoOffJob": _("You are not on the crew of this job any more. Send the photo to the office."),
        "photoNoFile": _("This file could not be read: {name}."),
    }
