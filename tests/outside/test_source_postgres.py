"""A hospital's table in PostgreSQL, against a real server: what its own ``COPY … CSV`` gives is what is read.

Source: PostgreSQL itself (Debian's server, version of the machine); the cluster is made for the tests in a folder of
their own, by a user who is not root, and is thrown away. Where CI is set, a missing server fails.
"""

from __future__ import annotations

import csv
import io
import os
import pwd
import shutil
import socket
import subprocess
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

from hingeline.errors import HingelineError
from hingeline.records.source import Limits, name_of, open_source, open_table


def _programs() -> Path | None:
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"))
    if found:
        return found[-1].parent
    initdb = shutil.which("initdb")
    return Path(initdb).resolve().parent if initdb else None


pytestmark = pytest.mark.skipif(
    _programs() is None and not os.environ.get("CI"),
    reason="POSTGRESQL IS NOT THERE: no table is read from a server (where CI is set this fails instead)",
)

SQL = """
CREATE SCHEMA clinic;
CREATE TABLE clinic."Op List" (
    id int PRIMARY KEY, "Pat" text, born date, operated timestamp, weight numeric(8,3), share float8, mesh boolean,
    "Größe, in ""cm"" " text, code char(4), empty text);
INSERT INTO clinic."Op List"
SELECT g, 'p' || g, date '1950-01-01' + g * 7, timestamp '2015-04-03' + (g % 3) * interval '90 minutes 1 second',
       g / 8.0, g / 3.0::float8, g % 2 = 0, E'zwei\nZeilen; "' || g || '"', 'M' || g % 3, NULL
FROM generate_series(1, 3000) AS g ORDER BY (g * 7919) % 3001;
CREATE TABLE clinic.visits (seen date, note text);
CREATE TABLE public.visits (seen date);
CREATE TABLE clinic.nothing ();
CREATE TABLE clinic.bare (n int);
CREATE ROLE reader LOGIN PASSWORD 'an invented pass word';
GRANT USAGE ON SCHEMA clinic TO reader;
GRANT SELECT ON clinic."Op List" TO reader;
GRANT SELECT (seen) ON clinic.visits TO reader;
"""


@dataclass(frozen=True)
class Server:
    """A private cluster: where it listens, and a way to ask it directly."""

    port: int
    programs: Path

    def address(self, table: str, user: str = "keeper") -> str:
        return f"postgresql://{user}@127.0.0.1:{self.port}/postgres?table={table}"

    def ask(self, sql: str) -> str:
        command = [str(self.programs / "psql"), "-X", "-q", "-v", "ON_ERROR_STOP=1", "-h", "127.0.0.1"]
        command += ["-p", str(self.port), "-U", "keeper", "-d", "postgres", "-f", "-"]
        done = subprocess.run(command, input=sql, capture_output=True, text=True, check=True, timeout=60)
        return done.stdout


@pytest.fixture(scope="module")
def server() -> Iterator[Server]:
    programs = _programs()
    assert programs is not None, "PostgreSQL is not there"
    home = Path(tempfile.mkdtemp(prefix="hl-pg-"))
    as_whom: dict[str, object] = {}
    if os.geteuid() == 0:
        # The server refuses to run as root.
        names = {one.pw_name: one for one in pwd.getpwall()}
        user = names.get("postgres") or names["nobody"]
        os.chown(home, user.pw_uid, user.pw_gid)
        as_whom = {"user": user.pw_uid, "group": user.pw_gid, "extra_groups": []}
    environment = {"PATH": os.environ["PATH"], "LC_ALL": "C.UTF-8"}

    def call(*command: str) -> None:
        subprocess.run(
            command, check=True, stdout=subprocess.DEVNULL, cwd=home, env=environment, timeout=120, **as_whom
        )

    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        port = one.getsockname()[1]
    data = str(home / "data")
    call(str(programs / "initdb"), "-D", data, "-A", "trust", "-U", "keeper", "-E", "UTF8", "--no-sync")
    rules = "host all reader 127.0.0.1/32 scram-sha-256\nhost all all 127.0.0.1/32 trust\n"
    (home / "data" / "pg_hba.conf").write_text(rules, encoding="utf-8")
    settings = f"-c listen_addresses=127.0.0.1 -p {port} -k '' -c fsync=off -c log_statement=all"
    call(str(programs / "pg_ctl"), "-D", data, "-w", "-l", str(home / "log"), "-o", settings, "start")
    try:
        made = Server(port, programs)
        made.ask(SQL)
        yield made
    finally:
        call(str(programs / "pg_ctl"), "-D", data, "-w", "-m", "immediate", "stop")
        shutil.rmtree(home, ignore_errors=True)


def test_a_table_is_read_as_the_servers_own_csv_export_shows_it(server):
    with open_source(server.address('clinic."Op List"')) as source:
        exported = server.ask(
            'SET datestyle = ISO; COPY (SELECT * FROM clinic."Op List" ORDER BY id) TO STDOUT (FORMAT csv, HEADER)'
        )
        header, *rows = csv.reader(io.StringIO(exported, newline=""))
        assert source.header == tuple(header)
        assert source.rows.to_pylist() == list(range(2, 3002))
        table = source.table.to_pydict()
        for column, name in enumerate(header):
            expected = [row[column].strip() or None for row in rows]
            read = table[name]
            if name in ("weight", "share"):
                assert [float(cell) for cell in read] == [float(cell) for cell in expected]
            elif name == "operated":
                assert read == [cell.removesuffix(" 00:00:00") for cell in expected]
            elif name == "mesh":
                assert read == [{"t": "true", "f": "false"}[cell] for cell in expected]
            else:
                assert read == expected
        assert source.name == "clinic.Op List"
        assert source.sheet == ""
        assert "primary key (id)" in source.detected[0]


def test_whole_numbers_have_no_point_and_decimals_the_mark_that_the_legend_gives(server):
    from hingeline.records.legend_model import FileOptions

    with open_source(server.address("clinic.op list"), FileOptions(decimal=",")) as source:
        weights = source.table["weight"].to_pylist()
    assert weights[:9] == ["0,125", "0,25", "0,375", "0,5", "0,625", "0,75", "0,875", "1", "1,125"]


def test_rows_are_streamed_to_the_spool_and_the_fingerprint_is_that_of_the_content(server):
    address = server.address("clinic.op list")
    with open_source(address) as held, open_table(Path(address), limits=Limits(held_bytes=1000)) as spooled:
        assert spooled.table.equals(held.table)
        assert spooled.fingerprint == held.fingerprint
        before = held.fingerprint
    server.ask('UPDATE clinic."Op List" SET "Pat" = \'p-2\' WHERE id = 2')
    try:
        with open_source(address) as changed:
            assert changed.fingerprint != before
    finally:
        server.ask('UPDATE clinic."Op List" SET "Pat" = \'p2\' WHERE id = 2')
    with open_source(address) as again:
        assert again.fingerprint == before


def test_the_session_cannot_write(server):
    server.ask(
        "CREATE FUNCTION clinic.meddle() RETURNS int LANGUAGE plpgsql AS "
        "$$ BEGIN INSERT INTO clinic.bare VALUES (1); RETURN 1; END $$;"
        "CREATE VIEW clinic.meddling AS SELECT clinic.meddle() AS n"
    )
    with pytest.raises(HingelineError) as refused:
        open_source(server.address("clinic.meddling"))
    assert "stopped the reading" in refused.value.what
    assert server.ask("SELECT count(*) FROM clinic.bare").split()[2] == "0"


def test_a_name_that_is_sql_is_only_a_name(server):
    server.ask('CREATE TABLE clinic."x; DROP TABLE clinic.bare; --" ("a\'); DROP TABLE clinic.bare; --" int)')
    try:
        with open_source(server.address('clinic."x; DROP TABLE clinic.bare; --"')) as source:
            assert source.names == ("a'); DROP TABLE clinic.bare; --",)
        with pytest.raises(HingelineError, match="no table"):
            open_source(server.address('clinic.bare"; DROP TABLE clinic.bare; --'))
        assert server.ask("SELECT count(*) FROM clinic.bare")
    finally:
        server.ask('DROP TABLE clinic."x; DROP TABLE clinic.bare; --"')


def _refused(address: str) -> HingelineError:
    with pytest.raises(HingelineError) as refused:
        open_source(address)
    error = refused.value
    assert error.where
    assert error.todo
    return error


def test_what_is_not_there_or_may_not_be_read_is_told(server, monkeypatch):
    absent = _refused(server.address("clinic.absent"))
    assert "no table 'clinic.absent'" in absent.what
    assert "clinic.Op List" in absent.todo
    assert "no columns" in _refused(server.address("clinic.nothing")).what
    monkeypatch.setenv("PGPASSWORD", "an invented pass word")
    assert "may not be read" in _refused(server.address("clinic.bare", "reader")).what
    assert "Column 'note'" in _refused(server.address("clinic.visits", "reader")).what
    with open_source(server.address("clinic.op list", "reader")) as source:
        assert source.n_rows == 3000
    monkeypatch.setenv("PGPASSWORD", "a wrong pass word")
    wrong = _refused(server.address("clinic.op list", "reader"))
    assert wrong.what == "The server refused the user or the password"
    assert "pass word" not in str(wrong)
    assert "no such database" in _refused(f"postgresql://keeper@127.0.0.1:{server.port}/absent?table=x").what
    assert "does not know the user" in _refused(server.address("x", "stranger")).what


def test_a_name_without_its_schema_is_found_and_public_stands_before_others(server):
    with open_source(server.address("op list")) as source:
        assert source.name == "clinic.Op List"
    with open_source(server.address("visits")) as source:
        assert source.name == "public.visits"
        assert source.n_rows == 0


def test_a_server_that_is_not_there_is_told():
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        port = one.getsockname()[1]
    told = _refused(f"postgresql://127.0.0.1:{port}/x?table=y")
    assert told.what == "No server answers there"
    assert name_of(f"postgresql://127.0.0.1:{port}/x?table=y") == "y"
