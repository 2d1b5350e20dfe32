"""Where a table of a database is: an address such as ``postgresql://host:5432/database?table=schema.name``.

The text comes in; what libpq is told, the table and words for people go out. No password stands in an address: libpq's
own environment and password file supply it, and no message repeats what was written.
"""

from __future__ import annotations

import os
import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Final
from urllib.parse import parse_qsl, quote, unquote, urlencode

from .. import wording
from ..errors import HingelineError

_ADDRESS: Final = re.compile(r"postgres(?:ql)?:/+", re.IGNORECASE)
_SECRETS: Final = ("password", "sslpassword", "passwd")
_PASSED_ON: Final = frozenset(
    (
        *("host", "hostaddr", "port", "user", "dbname", "connect_timeout", "sslmode", "channel_binding"),
        *("gssencmode", "krbsrvname"),
        *("target_session_attrs", "application_name"),
    )
)
"""What else an address may tell libpq (PostgreSQL documentation, 34.1.2); nothing that names a file of the user's."""


@dataclass(frozen=True)
class Address:
    """Where a table is.

    Attributes
    ----------
    uri : str
        What the driver is told; it holds no password.
    table : str
        As it was written: ``schema.name`` or ``name``.
    database : str
        Database and server, for people.
    hosts : tuple of str
        Servers to which it leads; empty ones are this machine.
    """

    uri: str
    table: str
    database: str
    hosts: tuple[str, ...] = ()

    @property
    def where(self) -> str:
        """Database and table, for an error message."""
        return f"{self.server}, table {self.table}" if self.table else self.server

    @property
    def server(self) -> str:
        """Database and server, for an error message."""
        return f"PostgreSQL database {self.database}"


def is_database(source: Path | str) -> bool:
    """Whether a source is the address of a database's table rather than a file."""
    return _ADDRESS.match(str(source)) is not None


def address_of(source: Path | str) -> Address:
    """Read an address.

    Raises
    ------
    HingelineError
        When it holds a password, names no table, or tells libpq what a study may not.
    """
    # A path swallows one of two slashes, so that either number of them is taken.
    text = _ADDRESS.sub("", str(source), count=1)
    if _holds_password(text):
        raise _password("PostgreSQL")
    place, _, query = text.partition("?")
    before, _, path = place.rpartition("/") if "/" in place else ("", "", place)
    user, _, server = before.rpartition("@") if "@" in before else ("", "", before)
    if "@" in path and not before:
        user, _, path = path.rpartition("@")
    database = unquote(path)
    try:
        given = dict(parse_qsl(query, keep_blank_values=True, strict_parsing=bool(query)))
    except ValueError:
        raise HingelineError(
            "The address of the database cannot be read",
            f"PostgreSQL {server or 'server'}",
            "Write postgresql://host/database?table=schema.name",
        ) from None
    host = given.get("host", server) or "this machine"
    shown = f"{database or given.get('dbname') or 'default'} on {host}"
    if any(name.lower() in _SECRETS for name in given):
        raise _password(f"PostgreSQL database {shown}")
    table = given.pop("table", "").strip()
    led = (given.get("host", re.sub(r":\d+$", "", server)), given.get("hostaddr", ""))
    hosts = tuple(one for each in led for one in each.split(","))
    address = Address(_uri(user, server, database, given), table, shown, hosts)
    unknown = sorted(set(given) - _PASSED_ON)
    if unknown:
        raise HingelineError(
            f"The address of the database holds {wording.listed([repr(one) for one in unknown])}, which is not used",
            address.where,
            "Take it out; after the question mark stand table=schema.name and, if need be, sslmode or port",
        )
    if not table:
        raise HingelineError(
            "The address of the database names no table",
            address.where,
            "Write postgresql://host/database?table=schema.name",
        )
    return address


HOSTS: Final = "HINGELINE_DATABASE_HOSTS"
"""Environment variable that names the servers, apart by commas, which a study's address may lead to."""

_HERE: Final = re.compile(r"|localhost|127(?:\.\d+){3}|\[?::1\]?|(?:/|%2f).*", re.IGNORECASE)


def check_hosts(address: Address) -> None:
    """Refuse a server that the user of this machine has not named: a study that was received could name any.

    The client hands the password of this machine's environment to the server that it is led to.
    """
    named = {one.strip().lower() for one in os.environ.get(HOSTS, "").split(",")}
    if any(not _HERE.fullmatch(one) and one.lower() not in named for one in address.hosts):
        raise HingelineError(
            "The study leads to a database server that was not named on this machine",
            address.where,
            f"If the server is yours, set the environment variable {HOSTS} to its name",
        )


def _holds_password(text: str) -> bool:
    """Whether ``user:password@`` begins an address, and not ``host:port/``."""
    text = unquote(text)
    if re.search(r"[?&]user=[^&]*:", text):
        return True
    front = re.match(r"[^/?@:\[]*:", text)
    late = "@" in text.partition("?")[0].partition("/")[2]
    return late or (front is not None and re.match(r"\d+(?:[/?]|$)", text[front.end() :]) is None)


def _password(where: str) -> HingelineError:
    return HingelineError(
        "The address of the database holds a password",
        where,
        "Take it out and change it, since others may have read it; libpq finds it in the password file (~/.pgpass) "
        "or in PGPASSWORD",
    )


def _uri(user: str, server: str, database: str, given: Mapping[str, str]) -> str:
    told = {"connect_timeout": "10", "application_name": "hingeline", **given}
    front = f"{quote(unquote(user))}@" if user else ""
    return f"postgresql://{front}{server}/{quote(database)}?{urlencode(told, quote_via=quote)}"
