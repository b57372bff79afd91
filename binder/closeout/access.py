"""Gaps of getting in: default logins, custody, second factors, leavers, configuration copies."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from typing import Final

from binder.closeout.facts import NETWORK, Facts
from binder.closeout.gap import Found, rule

_AUTHENTICATORS: Final = "NIST SP 800-53 rev. 5, IA-5 (authenticators)"
_TRIED_DAYS: Final = 365  # common practice, no published source
_PRIVILEGED: Final = ("administrator", "service", "shared", "break-glass")


@rule(
    "default-login-gone", "must",
    why="Whoever has the manual has the network.",
    mend="Change it, then say so.",
    basis=_AUTHENTICATORS,
)  # fmt: skip
def default_login_gone(facts: Facts) -> Iterator[Found]:
    """Accounts and secrets that are still as the maker made them, or not known to be changed."""
    for account in facts.of("account"):
        if account["form"] == "default" and not account["default_changed"]:
            yield Found(account, f"{account.name}: the maker's default", "default_changed")
        elif account["hardware"] is not None and account["default_changed"] == 0:
            yield Found(account, f"{account.name}: default not changed", "default_changed")
    for secret in facts.of("secret"):
        if secret["default_value"]:
            yield Found(secret, f"{secret.name} is still the maker's default", "default_value")


@rule(
    "account-custodian", "must",
    why="An account that nobody answers for is one that nobody takes back.",
    mend="Name who answers for it.",
    basis="CIS Controls v8.1, 5.1 and 5.5 (value from memory)",
)  # fmt: skip
def account_custodian(facts: Facts) -> Iterator[Found]:
    """Accounts without a custodian."""
    for account in facts.of("account"):
        if account["custodian"] is None:
            yield Found(account, f"{account.name} has no custodian", "custodian")


@rule(
    "account-second-factor", "should",
    why="A password that leaks opens everything that has no second factor.",
    mend="Turn it on, and say whose it is; where it cannot be had, waive it.",
)  # fmt: skip
def account_second_factor(facts: Facts) -> Iterator[Found]:
    """Privileged accounts without a second factor, or one that nobody is said to hold."""
    for account in facts.of("account"):
        if account["form"] not in _PRIVILEGED:
            continue
        if account["second_factor"] in (None, "none"):
            yield Found(account, f"{account.name} has no second factor", "second_factor")
        elif not account["second_factor_holder"]:
            yield Found(account, f"{account.name}: whose second factor it is, is not recorded",
                        "second_factor_holder")  # fmt: skip


@rule(
    "leaver-off-accounts", "must",
    why="Who has left still gets in, or is the only one who could.",
    mend="Give the account to somebody who is there, and change its secrets; take the key back; "
    "have the carrier strike the name.",
    basis="NIST SP 800-53 rev. 5, PS-4 (personnel termination)",
)  # fmt: skip
def leaver_off_accounts(facts: Facts) -> Iterator[Found]:
    """Accounts, keys and rights to call the carrier in the name of somebody who has left."""
    day = facts.today.isoformat()
    gone = {
        contact.id: contact.name
        for contact in facts.all("contact").values()
        if contact["status"] == "former" or (contact["left_on"] and contact["left_on"] <= day)
    }
    for account in facts.of("account"):
        if account["custodian"] in gone:
            says = f"{account.name}: custodian {gone[account['custodian']]} has left"
            yield Found(account, says, "custodian")
    for caller in facts.of("authorised_caller"):
        if caller["contact"] in gone:
            yield Found(caller, f"{caller.name}: has left, and may still call", "status")
    for key in facts.of("key"):
        if key["holder"] in gone and not key["returned_on"]:
            yield Found(key, f"{key.name}: still with {gone[key['holder']]}", "returned_on")


@rule(
    "login-tried", "must",
    why="A login that nobody tried is found not to work on the night it is needed.",
    mend="Log in with it, and record the day.",
    basis="NIST SP 800-53 rev. 5, IA-5 (authenticators)",
)  # fmt: skip
def login_tried(facts: Facts) -> Iterator[Found]:
    """Network hardware without an account, or with none that was tried within a year."""
    accounts = facts.by("account", "hardware")
    since = (facts.today - timedelta(days=_TRIED_DAYS)).isoformat()
    for one in facts.of("hardware"):
        if one["form"] not in NETWORK:
            continue
        mine = accounts.get(one.id, [])
        tried = max((account["tried_on"] or "" for account in mine), default="")
        given = {"system": one.name, "hardware": one.id}
        if not mine:
            yield Found(one, f"{one.name} has no login recorded", adds="account", given=given)
        elif not tried:
            yield Found(mine[0], f"{mine[0].name} was never tried", "tried_on")
        elif tried < since:
            yield Found(mine[0], f"{mine[0].name} was last tried {tried}", "tried_on")


@rule(
    "configuration-copied", "must",
    why="Without a copy a dead switch is configured from memory.",
    mend="Take a copy, keep it safely, and record it.",
    basis="NIST SP 800-53 rev. 5, CM-2 (baseline configuration)",
)  # fmt: skip
def configuration_copied(facts: Facts) -> Iterator[Found]:
    """Switches and gateways without a configuration copy newer than their last change."""
    copies = facts.by("configuration_copy", "hardware")
    for one in facts.of("hardware"):
        if one["form"] not in ("switch", "gateway"):
            continue
        taken = max((copy["taken_on"] for copy in copies.get(one.id, [])), default="")
        changed = facts.last_change_logged.get(one.id, "")
        given = {"hardware": one.id, "taken_on": facts.today.isoformat()}
        if not taken:
            says = f"{one.name} has no configuration copy"
        elif taken < changed:
            says = f"{one.name}: copy of {taken}, changed {changed}"
        else:
            continue
        yield Found(one, says, adds="configuration_copy", given=given)


@rule(
    "secret-rotated", "should",
    why="Who knew it when they left still knows it.",
    mend="Give it a new value.",
    basis="NIST SP 800-53 rev. 5, AC-2 (h and k) and IA-5",
)  # fmt: skip
def secret_rotated(facts: Facts) -> Iterator[Found]:
    """Secrets whose day to be changed is past."""
    for secret in facts.of("secret"):
        by = secret["rotate_by"]
        if by and date.fromisoformat(by) < facts.today:
            reason = f" ({secret['rotate_reason']})" if secret["rotate_reason"] else ""
            yield Found(secret, f"{secret.name} was to be changed by {by}{reason}", "rotate_by")
