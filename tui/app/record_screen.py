"""A screen on which a record is pointed at, and what can be done to that record."""

from __future__ import annotations

from typing import ClassVar, Final

from binder.errors import ConflictError, RequestError
from binder.read import Record, read
from binder.records.catalog import BY_NAME
from tui.app.kind_words import CAN_FAIL, HAS_FACE, TROUBLED
from tui.app.ports import connections
from tui.app.screen import BinderScreen
from tui.app.secrets_of import secrets_of

NEEDS_RECORD: Final = (
    "edit", "remove", "copy_record", "verify", "trace", "impact", "patch", "move", "rack",
)  # fmt: skip

NEEDS_SECRET: Final = ("reveal", "give_value")


class RecordScreen(BinderScreen[None]):
    """Subclasses say which record is meant: `subject`, and `looked_at` for the second pane."""

    HAS_PREVIEW = True
    NOTHING: ClassVar[str] = "no record here; n adds one"

    def subject(self) -> int | None:
        """The record that `edit`, `remove` and the like are about."""
        return None

    def looked_at(self) -> int | None:
        return self.subject()

    def called_about(self) -> int | None:
        return self.subject()

    def action_find(self) -> None:
        self.binder_app.open_find()

    def action_history(self) -> None:
        self.binder_app.open_history(self.subject())

    def action_trouble(self) -> None:
        from tui.app.troubles import look

        if self.record():
            self.binder_app.errand(look(self.binder_app, self.subject() or 0))

    def action_divider(self, number: int) -> None:
        self.binder_app.turn_to(divider=number)

    def is_offered(self, action_id: str) -> bool:
        if not super().is_offered(action_id):
            return False
        subject = self.subject()
        if action_id in NEEDS_SECRET:
            readable = action_id == "give_value" or not self.binder_app.read_only
            return bool(readable and subject and secrets_of(self.binder_app.binder, subject))
        if action_id == "impact":
            return self.binder_app.kind_of(subject) in CAN_FAIL
        if action_id == "show_face":
            return self.binder_app.kind_of(self.looked_at() or subject) in HAS_FACE
        if action_id == "trouble":
            return self.binder_app.kind_of(subject) in TROUBLED
        return action_id not in NEEDS_RECORD or subject is not None

    # The envelope -----------------------------------------------------------------------

    def action_reveal(self) -> None:
        from tui.app.revealing import reveal

        if self.record():
            self.binder_app.errand(reveal(self.binder_app, self.subject() or 0))

    def action_give_value(self) -> None:
        from tui.app.giving import give_value

        if self.record():
            self.binder_app.errand(give_value(self.binder_app, self.subject() or 0))

    def action_open_or_seal(self) -> None:
        from tui.app.opening import open_or_seal

        self.binder_app.errand(open_or_seal(self.binder_app))

    def action_envelope(self) -> None:
        self.binder_app.open_envelope_page()

    # One record -------------------------------------------------------------------------

    def record(self) -> Record | None:
        """The record that is meant, as it is now; says so when there is none."""
        subject = self.subject()
        if subject is None:
            self.say(self.NOTHING)
            return None
        return read(self.binder_app.binder, subject)

    def action_edit(self) -> None:
        if self.record():
            self.binder_app.open_edit(self.subject() or 0, self.field_here())

    def field_here(self) -> str:
        """The field the cursor stands on, where fields are shown."""
        return ""

    def action_copy_record(self) -> None:
        record = self.record()
        if record and record.kind.single:
            self.say(f"a binder holds exactly one {record.kind.label.lower()}", bad=True)
        elif record:
            from tui.app.draft import copied_values

            given = copied_values(self.binder_app.binder, record)
            self.binder_app.open_new(record.kind, given)

    def action_remove(self) -> None:
        record = self.record()
        if record:
            from tui.app.removal import ask_to_remove

            ask_to_remove(self.binder_app, record)

    def action_verify(self) -> None:
        record = self.record()
        if record:
            app = self.binder_app
            with app.editor.step(f"verified {record.name}") as step:
                seen = {"verified_on": app.today.isoformat(), "verified_by": app.who}
                step.change(record.id, seen)
            app.changed()
            app.say(f"{record.name}: verified today by {app.who}")

    def action_trace(self) -> None:
        subject = self.port_here() or self.subject()
        if subject is None:
            self.say("stand on a port, link, cord or hardware to trace from it")
        else:
            self.binder_app.open_trace(subject)

    def action_impact(self) -> None:
        record = self.record()
        if record is not None:
            self.binder_app.open_impact(record.id)

    def action_rack(self) -> None:
        record = self.record()
        if record is None:
            return
        at = record.id if record.kind.name == "hardware" else None
        rack = record.id if record.kind.name == "rack" else None
        if record.kind.name == "hardware":
            rack = record["rack"]
        if record.kind.name in ("port", "inlet", "configuration_copy"):
            at = record["hardware"]
            rack = read(self.binder_app.binder, record["hardware"])["rack"]
        if rack is None:
            self.say(f"{record.name} is in no rack")
        else:
            self.binder_app.open_rack(rack, at=at)

    def action_show_face(self) -> None:
        at = self.port_here() or self.subject()
        record = read(self.binder_app.binder, at) if at else None
        if record and record.kind.name in ("link", "cord"):
            near = record["port_a"] or record["port_b"]
            record = read(self.binder_app.binder, near) if near else None
        if record and record.kind.name == "port":
            self.binder_app.open_face(record["hardware"], at=record.id)
        elif record and record.kind.name == "hardware":
            self.binder_app.open_face(record.id)
        else:
            self.say("stand on hardware, a port, a cord or a link to see the face it is on")

    # Patching ---------------------------------------------------------------------------

    def port_here(self) -> int | None:
        """The port that is pointed at, if it is one."""
        for candidate in (self.looked_at(), self.subject()):
            if self.binder_app.kind_of(candidate) == "port":
                return candidate
        return None

    def action_patch(self) -> None:
        app, port = self.binder_app, self.port_here() or self._only_port()
        if port is None:
            return
        front = connections(app.binder, [port])[port].front
        if front is None:
            app.open_new(BY_NAME["cord"], {"port_a": port})
            return
        from tui.app.ask import Ask

        name = read(app.binder, port).name

        def answered(yes: bool | None) -> None:
            if yes:
                app.open_edit(front.id)

        question = f"{name} is taken: cord {front.by} to {front.to}. Change that cord?"
        self.app.push_screen(Ask(question), answered)

    def _only_port(self) -> int | None:
        """The port of hardware that has one; of several, one is chosen on the face."""
        app, subject = self.binder_app, self.subject()
        if app.kind_of(subject) != "hardware" or subject is None:
            self.say("stand on a port, or on hardware with ports, to patch it")
            return None
        sql = "SELECT id FROM port WHERE hardware_id = ? AND status <> 'removed'"
        ports = [row[0] for row in app.binder.connection.execute(sql, (subject,))]
        if len(ports) == 1:
            return int(ports[0])
        if ports:
            app.open_face(subject)
            app.say("walk to the port with the arrow keys; p takes up the cord there")
        else:
            self.say("it has no ports yet; n makes a series of them")
        return None

    # Undo -------------------------------------------------------------------------------

    def action_undo(self) -> None:
        try:
            done = self.binder_app.editor.undo()
        except ConflictError as error:
            fields = ", ".join(error.theirs).replace("_", " ")
            raise RequestError(
                f"not undone: {error.who} has changed {fields} since; h shows the history"
            ) from error
        what = done.summary.removeprefix("undo ")
        if self._set_a_value(what):
            self._turned(f"undone: what the record told of '{what}'; the value itself stays")
        else:
            self._turned(f"undone: {what}; r does it again")

    def _set_a_value(self, summary: str) -> bool:
        """Whether a step is that of a new value, which the envelope keeps whatever is undone."""
        sql = "SELECT 1 FROM record WHERE kind = 'secret' AND 'set ' || name = ?"
        return self.binder_app.binder.connection.execute(sql, (summary,)).fetchone() is not None

    def action_redo(self) -> None:
        done = self.binder_app.editor.redo()
        self._turned(f"done again: {done.summary.removeprefix('redo ')}")

    def _turned(self, says: str) -> None:
        self.binder_app.changed()
        self.binder_app.say(says)
