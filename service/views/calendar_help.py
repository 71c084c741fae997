"""What phones and calendar programs were found to do with a subscribed calendar. Their makers promise none of it, and each version may differ."""

from dataclasses import dataclass

from shared.findings import Message, msg

LOOKED_UP_IN = msg("November 2026")  # when threads, sources and trials were read; the names of menus are from memory
_READ = msg("We read this in what makers or users of the program wrote, or tried it.")
_SECONDHAND = msg("Others say so; we have not tried it.")


@dataclass(frozen=True)
class Program:
    """`known`: how what it does with changes and alarms is known, at its weakest."""

    name: Message
    adding: Message
    refresh: Message
    alarms: Message
    known: Message


PROGRAMS = (
    Program(
        msg("iPhone and iPad"),
        msg("Scan the calendar's code with the camera, or tap the address that begins with webcal. Then choose “Subscribe”."),
        msg("You choose it under Settings, Calendar, Accounts, Fetch New Data: every 15, 30 or 60 minutes, or only when you open it."),
        msg("Alarms come only if you switch off “Remove Alarms” while you subscribe. It is switched on at first."),
        _SECONDHAND,
    ),
    Program(
        msg("Mac"),
        msg("In Calendar choose File, New Calendar Subscription, and paste the address."),
        msg("You choose it: from every 5 minutes to every week. Look at this setting: “every week” was found chosen already."),
        msg("Alarms come only if you switch off “Remove Alerts” while you subscribe."),
        _SECONDHAND,
    ),
    Program(
        msg("Google Calendar, also on Android phones"),
        msg("On a computer, in the browser, choose “Other calendars”, “From URL”, and paste the address that begins with https."),
        msg("By itself, after 4 to 24 hours. You cannot make it look sooner."),
        msg("It ignores our alarms. In the settings of this calendar you can set a notification of your own for every day."),
        _READ,
    ),
    Program(
        msg("Android with a subscription program such as ICSx5"),
        msg("Open the program, add a subscription, and paste the address that begins with https."),
        msg("Once a day, unless you choose another time in the program."),
        msg("Alarms come, and you can change or switch them off in the program."),
        _READ,
    ),
    Program(
        msg("Outlook in the browser"),
        msg("Choose “Add calendar”, “Subscribe from web”, and paste the address that begins with https."),
        msg("By itself, after about 3 hours; it can take longer than a day."),
        msg("It ignores our alarms."),
        _SECONDHAND,
    ),
    Program(
        msg("Outlook on the computer"),
        msg("Choose “Add calendar”, “From Internet”, and paste the address that begins with https."),
        msg("About every hour, if “update limit” is ticked for this calendar."),
        msg("It ignores our alarms."),
        _SECONDHAND,
    ),
    Program(
        msg("Thunderbird"),
        msg("Choose “New calendar”, “On the network”, and paste the address that begins with https."),
        msg("Every 30 minutes, unless you choose another time."),
        msg("Alarms come while Thunderbird is open. Those it slept through do not come later."),
        _SECONDHAND,
    ),
    Program(
        msg("Nextcloud"),
        msg("In its calendar choose “New subscription from link”, and paste the address that begins with https."),
        msg("About every hour. Some are set up to look once a week."),
        msg("It leaves our alarms out, unless whoever runs it has changed that."),
        _READ,
    ),
)
