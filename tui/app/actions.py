"""Every action of the app, declared once: its key, its word, its sentence, where it is valid.

Bindings, the bottom line, the help screen and the palette are all made from this table. A
screen does the action `edit` in its method `action_edit`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from textual.binding import Binding, BindingType

from binder.records.catalog import DIVIDERS

# Where an action is valid: the places a person can be in.
SHELF: Final = "shelf"
LIST: Final = "list"
SHEET: Final = "sheet"
RACK: Final = "rack"
FOUND: Final = "find"
ASKED: Final = "palette"
PATH: Final = "trace"
PAST: Final = "history"
FORM: Final = "form"
HELP: Final = "help"
MOVING: Final = "moving"  # carrying hardware in a rack
HELD: Final = "envelope"  # who holds the envelope, who has seen what
KNOWN: Final = "person"  # what one person knows
SHOWN: Final = "secret"  # a secret on the screen
SCARCE: Final = "headroom"  # the computed rows of the divider
WORKED: Final = "headroom sheet"  # the sum behind one row
REVIEWED: Final = "preview"  # many records, before they are written
TREE: Final = "topology"  # the network from the circuits to the edge
QUARTER: Final = "review"  # the quarterly review
LACKING: Final = "gaps"  # what is missing before handing over
SUPPOSED: Final = "what if"  # a list of additions being typed
LOST: Final = "impact"  # what a failure takes
BROKEN: Final = "trouble"  # what to look at when something is down
STAGED: Final = "order"  # in what order things are started and stopped
FACE: Final = "face"  # of a panel or a switch, port by port
PLUGGING: Final = "plugging"  # a cord in hand, at a face

IN_BINDER: Final = frozenset(
    {
        LIST,
        SHEET,
        RACK,
        PATH,
        PAST,
        HELD,
        KNOWN,
        SCARCE,
        WORKED,
        LOST,
        STAGED,
        BROKEN,
        LACKING,
        TREE,
        FACE,
        QUARTER,
    }
)
ON_RECORD: Final = frozenset({LIST, SHEET, RACK, PATH, BROKEN, TREE})
EVERYWHERE: Final = IN_BINDER | {SHELF, HELP}


@dataclass(frozen=True, slots=True)
class Action:
    """`keys` as Textual names them; `word` stands in the bottom line, none keeps it out."""

    id: str
    keys: str
    sign: str  # how the key is written for people
    word: str
    sentence: str
    places: frozenset[str]
    writes: bool = False

    def is_valid(self, place: str, *, read_only: bool) -> bool:
        return place in self.places and not (self.writes and read_only)


def _at(*places: str) -> frozenset[str]:
    return frozenset(places)


# In order of use: the bottom line shows as many, from the left, as fit.
ACTIONS: Final[tuple[Action, ...]] = (
    Action("drop", "enter", "Enter", "put it here", "Put the hardware down at this U.",
           _at(MOVING), True),
    Action("let_go", "escape,q", "Esc", "leave it", "Leave the hardware where it was.",
           _at(MOVING)),
    Action("face", "f", "f", "face", "Turn the rack: front or rear.", _at(RACK, MOVING)),
    Action("move", "m", "m", "move", "Take up the hardware and carry it to another U.",
           _at(RACK), True),
    Action("take_out", "x", "x", "take out", "Take the hardware out of the rack; its record stays.",
           _at(RACK), True),
    Action("plug_in", "enter", "Enter", "plug in", "Plug the cord into this port.",
           _at(PLUGGING), True),
    Action("drop_cord", "escape,q", "Esc", "drop it", "Let the cord go; nothing is plugged in.",
           _at(PLUGGING)),
    Action("take_up", "p", "p", "patch", "Take up a cord here; at another face Enter plugs it in.",
           _at(FACE), True),
    Action("unplug", "x", "x", "unplug", "Take the cord out of this port.", _at(FACE), True),
    Action("set_aside", "s", "s", "set aside", "Reserve the port for something.",
           _at(FACE), True),
    Action("mark_port", "m", "m", "bad/good", "Mark the port bad, and why; or good again.",
           _at(FACE), True),
    Action("turn_face", "f", "f", "rear", "Turn it: the front with its cords, the rear with links.",
           _at(FACE)),
    Action("next_face(1)", "tab", "Tab", "next face", "The next face in the same rack.",
           _at(FACE, PLUGGING)),
    Action("next_face(-1)", "shift+tab", "Shift+Tab", "", "The face before it in the rack.",
           _at(FACE, PLUGGING)),
    Action("other_face", "slash", "/", "other hardware", "Other hardware, by typing its name.",
           _at(PLUGGING)),
    Action("other_end", "g", "g", "other end", "Go to where the cord (at the rear, the link) ends.",
           _at(FACE)),
    Action("arrange", "a", "a", "rows", "Other rows or order, when it looks otherwise in the rack.",
           _at(FACE)),
    Action("fold", "minus", "-", "fold", "Fold what hangs on this line, or open it again.",
           _at(TREE)),
    Action("find", "slash", "/", "find", "Find any record by part of anything in it.", IN_BINDER),
    Action("trace", "t", "t", "trace", "Follow the cable both ways from here.",
           _at(LIST, SHEET, RACK, BROKEN, FACE, TREE)),
    Action("trouble", "b", "b", "broken?",
           "What to look at, in order, when this is down.", IN_BINDER - {BROKEN}),
    Action("impact", "i", "i", "impact", "What loses power, data or redundancy if this fails.",
           ON_RECORD | {SCARCE, WORKED, LOST, STAGED, FACE}),
    Action("order", "s", "s", "order", "In what order to start, and to stop, what hangs on it.",
           _at(LOST)),
    Action("turn_order", "s", "s", "start/stop", "From starting to stopping, and back.",
           _at(STAGED)),
    Action("whole_order", "a", "a", "all", "The order of everything in the binder.", _at(STAGED)),
    Action("reveal", "k", "k", "secret",
           "Show a secret of this for 20 seconds; the log tells of it.",
           ON_RECORD | {HELD, KNOWN, FACE}),
    Action("call", "c", "c", "call",
           "Begin a call; what you do is attached. c again closes it.",
           IN_BINDER, True),
    Action("jot", "j", "j", "note", "Note a line of the call that runs.", IN_BINDER, True),
    Action("what_if", "w", "w", "what if", "Type what would be added; see what runs out first.",
           _at(SCARCE, WORKED)),
    Action("review", "v", "v", "review", "The quarter's review: what fills next, and when.",
           _at(SCARCE)),
    Action("read_round", "n", "n", "readings", "Type what is usually read, one after the other.",
           _at(SCARCE), True),
    Action("filter_state", "s", "s", "state", "Only what is over, then what is short, and so on.",
           _at(SCARCE)),
    Action("filter_space", "f", "f", "space", "Only what is in one space, or all again.",
           _at(SCARCE)),
    Action("take_review", "n", "n", "take it", "Take the review of today; it is kept for good.",
           _at(QUARTER), True),
    Action("waive", "x", "x", "waive", "Let the gap through, with a reason and a name.",
           _at(LACKING), True),
    Action("only_musts", "s", "s", "musts", "Only what stands in the way, or all gaps again.",
           _at(LACKING)),
    Action("edit", "e", "e", "edit", "Change the record.",
           ON_RECORD | {SCARCE, WORKED, FACE}, True),
    Action("new", "n", "n", "new", "Add a record: here, or to this one.",
           _at(LIST, SHEET, RACK, FACE), True),
    Action("patch", "p", "p", "patch", "Plug a cord into this port, or into one of this hardware.",
           _at(LIST, SHEET, PATH), True),
    Action("show_face", "f", "f", "face", "The face this is on: which port is where.",
           _at(LIST, SHEET, PATH, BROKEN, TREE)),
    Action("undo", "u", "u", "undo", "Take back your last change.", IN_BINDER, True),
    Action("facts", "s", "s", "sheet", "The sheet of the rack itself.", _at(RACK)),
    Action("all_fields", "a", "a", "all", "Show empty fields too, or hide them.", _at(SHEET)),
    Action("remove", "d", "d", "remove", "Remove the record; undo brings it back.",
           ON_RECORD, True),
    Action("change_many", "equals_sign", "=", "range",
           "Change a range, 1A-A01..24, after a look at what becomes of it.",
           _at(LIST), True),
    Action("paste_lines", "plus", "+", "lines",
           "Paste lines, or type them: a record a line; a preview first.", _at(LIST), True),
    Action("copy_record", "y", "y", "copy", "Start a new record with what this one holds.",
           _at(LIST, SHEET, RACK), True),
    Action("rack", "w", "w", "rack", "The rack this is in, drawn.",
           _at(LIST, SHEET, PATH, FACE, TREE)),
    Action("verify", "v", "v", "verified", "Note that you looked, today, and it is so.",
           _at(LIST, SHEET, RACK, FACE), True),
    Action("history", "h", "h", "history",
           "Who changed what, and when; h again: the whole binder.", IN_BINDER),
    Action("give_value", "g", "g", "value", "Give a secret a new value: typed unseen, or made.",
           ON_RECORD | {HELD, KNOWN}, True),
    Action("mark_known", "m", "m", "mark all",
           "Mark everything they know to be rotated, in one step.", _at(KNOWN), True),
    Action("open_or_seal", "o", "o", "open/seal", "Open the envelope of secrets, or seal it.",
           IN_BINDER),
    Action("envelope", "l", "l", "envelope",
           "Who holds the envelope, who has seen what, what to rotate.", IN_BINDER - {HELD, KNOWN}),
    Action("redo", "r", "r", "redo", "Do again what you took back.", IN_BINDER, True),
    Action("next_kind", "right,right_square_bracket", "]", "", "The next kind on this divider.",
           _at(LIST, SCARCE, LACKING, TREE)),
    Action("previous_kind", "left,left_square_bracket", "[", "",
           "The kind before on this divider.", _at(LIST, SCARCE, LACKING, TREE)),
    *(
        Action(f"divider({at})", f"{(at + 1) % 10}", f"{(at + 1) % 10}", "",
               f"Turn to the divider {name}.", IN_BINDER)
        for at, name in enumerate(DIVIDERS)
    ),
    Action("save", "f2", "F2", "save", "Save what is in the form.", _at(FORM), True),
    Action("open_page", "f4", "F4", "page",
           "Several lines, on a page of their own; F4 there: your editor.", _at(FORM)),
    Action("next_field", "down", "Down", "next", "The next field, or what is offered.", _at(FORM)),
    Action("take_field", "tab", "Tab", "take", "Take what is marked; the next field.", _at(FORM)),
    Action("previous_field", "up,shift+tab", "Up", "", "The field before.", _at(FORM)),
    Action("page_fields(1)", "pagedown", "PgDn", "page", "A page of fields on.", _at(FORM)),
    Action("page_fields(-1)", "pageup", "PgUp", "", "A page of fields back.", _at(FORM)),
    Action("leave_form", "escape", "Esc", "leave", "Leave the form; asks when something is typed.",
           _at(FORM)),
    Action("open_found", "enter", "Enter", "open", "Open what was found.",
           _at(FOUND, ASKED, SHELF)),
    Action("trace_found", "ctrl+t", "^T", "trace", "Follow the cable from what is marked.",
           _at(FOUND)),
    Action("trouble_found", "ctrl+r", "^R", "broken?", "What to look at when it is down.",
           _at(FOUND)),
    Action("reveal_found", "ctrl+k", "^K", "secret", "Show a secret of what is marked.",
           _at(FOUND)),
    Action("impact_of_found", "ctrl+o", "^O", "impact", "What fails with what is marked.",
           _at(FOUND)),
    Action("history_of_found", "ctrl+l", "^L", "history", "Who changed what is marked, and when.",
           _at(FOUND)),
    Action("result_down", "down", "Down", "next", "The next thing found.",
           _at(FOUND, ASKED, SHELF)),
    Action("result_up", "up", "Up", "", "The thing found before.",
           _at(FOUND, ASKED, SHELF)),
    Action("result_page(1)", "pagedown", "PgDn", "", "A page of things found on.",
           _at(FOUND, ASKED, SHELF)),
    Action("result_page(-1)", "pageup", "PgUp", "", "A page of things found back.",
           _at(FOUND, ASKED, SHELF)),
    Action("new_binder", "ctrl+n", "^N", "new binder", "Make a binder for a new client.",
           _at(SHELF), True),
    Action("leave_shelf", "escape", "Esc", "leave",
           "Clear what is typed; with nothing typed, leave the program.", _at(SHELF)),
    Action("leave_find", "escape", "Esc", "back", "Back to where you were.", _at(FOUND, ASKED)),
    Action("hide", "escape,q,enter,backspace", "Esc", "hide", "Take the secret off the screen.",
           _at(SHOWN)),
    Action("copy_secret", "y", "y", "copy",
           "Send it to the terminal's clipboard, and 30 s later an empty one.", _at(SHOWN)),
    Action("spell", "s", "s", "spell", "In words, as it is read out over the phone; s again: not.",
           _at(SHOWN)),
    Action("join_code", "w", "w", "QR code", "The code by which phones join the wireless network.",
           _at(SHOWN)),
    Action("again", "k", "k", "again", "Another 20 seconds; the log tells of it again.",
           _at(SHOWN)),
    Action("page_secret(1)", "pagedown,down,space", "PgDn", "page", "On in a long secret.",
           _at(SHOWN)),
    Action("page_secret(-1)", "pageup,up", "PgUp", "", "Back in a long secret.", _at(SHOWN)),
    Action("take_all", "f2,enter", "F2", "write", "Write all of it, in one step.",
           _at(REVIEWED), True),
    Action("next_fault", "n", "n", "fault", "Go to the next line with a fault.",
           _at(REVIEWED)),
    Action("change_existing", "c", "c", "change",
           "Change those that are there already, after a look at that.",
           _at(REVIEWED), True),
    Action("more_fields", "a", "a", "field", "Change another field of them as well.",
           _at(REVIEWED), True),
    Action("mend_lines", "e", "e", "mend", "Back to the lines as text.", _at(REVIEWED), True),
    Action("drop_all", "escape,q,backspace", "Esc", "back",
           "Write nothing; back to what was typed.", _at(REVIEWED)),
    Action("keep_plan", "f2", "F2", "keep it", "Keep the list as planned hardware, in one step.",
           _at(SUPPOSED), True),
    Action("drop_plan", "escape", "Esc", "drop it", "Drop the list; the binder is as it was.",
           _at(SUPPOSED)),
    Action("scroll_answer(1)", "pagedown", "PgDn", "page", "A page of the answer on.",
           _at(SUPPOSED)),
    Action("scroll_answer(-1)", "pageup", "PgUp", "", "A page of the answer back.",
           _at(SUPPOSED)),
    Action("resume", "z", "z", "", "Go on with what you typed and did not save.",
           IN_BINDER, True),
    Action("help", "question_mark,f1", "?", "help", "What every key does here.",
           EVERYWHERE - {HELP} | {MOVING, PLUGGING, SHOWN, REVIEWED}),
    Action("redraw", "ctrl+l", "^L", "", "Draw the whole screen anew, if something spoilt it.",
           EVERYWHERE | {FORM, ASKED, MOVING, REVIEWED, SHOWN, SUPPOSED}),
    Action("palette", "colon,ctrl+p", ":", "", "Every action and every kind of record, by name.",
           IN_BINDER | {SHELF}),
    Action("close", "q", "q", "back", "Back to where you were; on the first page, leave.",
           EVERYWHERE - {SHELF}),
    Action("back", "escape,backspace", "Esc", "", "Back to where you were.",
           EVERYWHERE - {SHELF}),
    Action("leave", "ctrl+c", "Ctrl+C", "", "Leave the program.",
           EVERYWHERE | {FORM, FOUND, ASKED, MOVING, PLUGGING, REVIEWED, SHOWN, SUPPOSED}),
)  # fmt: skip

BY_ID: Final = {action.id: action for action in ACTIONS}


def _goes_first(action: Action) -> bool:
    """Whether its key is asked before the line in which one types, which has keys of its own."""
    return action.id == "leave" or (
        not action.places.isdisjoint({FOUND, SHELF}) and action.keys.startswith("ctrl+")
    )


def bindings(*places: str) -> list[BindingType]:
    """The Textual bindings of the places that a screen can be."""
    return [
        Binding(action.keys, action.id, action.sentence, show=False, priority=_goes_first(action))
        for action in ACTIONS
        if not action.places.isdisjoint(places)
    ]


def valid_in(place: str, *, read_only: bool) -> tuple[Action, ...]:
    """The actions that can be done in a place, in order of use."""
    return tuple(action for action in ACTIONS if action.is_valid(place, read_only=read_only))


def may_run(name: str, place: str) -> bool:
    """Whether a screen may do what it is told by that name; names not in the table are its own."""
    declared = [action for action in ACTIONS if action.id.partition("(")[0] == name]
    return not declared or any(place in action.places for action in declared)
