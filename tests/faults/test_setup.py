"""The set-up script on a machine where something is missing and nothing may be installed."""

import re
import subprocess
import tomllib
from importlib import metadata
from pathlib import Path

import pytest

pytestmark = pytest.mark.once

ROOT = Path(__file__).resolve().parents[2]


def run(script: str) -> "subprocess.CompletedProcess[str]":
    """Run `script` with the set-up's functions at hand, as bin/start has them."""
    return subprocess.run(
        ["sh", "-euc", f". bin/setup.sh; {script}", "bin/start"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )


def test_line_to_type_names_each_missing_package() -> None:
    done = run("may_install() { return 1; }; install_packages libpango-1.0-0 chromium")

    assert done.returncode == 1
    assert "sudo apt-get install -y --no-install-recommends libpango-1.0-0 chromium" in done.stderr


def test_missing_library_is_noticed_by_trying_to_load_it() -> None:
    done = run("python=$(find_python); library_there libc.so.6; ! library_there libnowhere.so.1")
    assert done.returncode == 0, done.stderr


def test_missing_libraries_are_asked_for_by_their_packages() -> None:
    done = run(
        "python=$(find_python); library_there() { return 1; }; any_font_there() { return 1; };"
        "missing_packages app"
    )
    assert done.stdout.split() == [
        "libpango-1.0-0",
        "libpangoft2-1.0-0",
        "libharfbuzz-subset0",
        "fonts-dejavu-core",
    ]


def test_without_a_new_enough_python_the_line_to_type_is_printed() -> None:
    done = run("is_new_enough() { return 1; }; set_up app")

    assert done.returncode == 1
    assert "Python 3.11 or newer is missing" in done.stderr
    assert "sudo apt-get install -y --no-install-recommends python3 python3-venv" in done.stderr


def test_package_manager_that_fails_leaves_the_line_and_its_last_words() -> None:
    done = run(
        "may_install() { return 0; };"
        "apt_as_root() { echo 'Unable to locate package'; return 100; };"
        "install_packages chromium"
    )
    assert done.returncode == 1
    assert "Unable to locate package" in done.stderr
    assert "sudo apt-get install -y --no-install-recommends chromium" in done.stderr


def test_lock_file_has_a_hash_for_every_package_and_names_no_host() -> None:
    lock = (ROOT / "requirements.lock").read_text(encoding="utf-8")

    assert "://" not in lock
    packages = [part for part in lock.split("\n") if part and not part.startswith((" ", "#"))]
    assert packages
    assert all("==" in package and package.endswith("\\") for package in packages)
    assert lock.count("--hash=sha256:") >= len(packages)


def test_lock_file_names_the_extras_that_packages_ask_of_one_another() -> None:
    # Without them pip looks at a package's newest release first, finds no pin for its extra and
    # refuses the whole file: on the day a release comes out.
    lock = (ROOT / "requirements.lock").read_text(encoding="utf-8")
    locked = set(re.findall(r"^([a-z0-9_.-]+\[[a-z,]+\])==", lock, re.MULTILINE))
    names = re.findall(r"^([a-z0-9_.-]+)(?:\[[a-z,]+\])?==", lock, re.MULTILINE)
    # Of these the project says itself what they need, whatever their own papers ask for.
    settings = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    said_here = {one["name"]: one for one in settings["tool"]["uv"]["dependency-metadata"]}
    assert all(one["requires-dist"] == [] for one in said_here.values())
    asked = set()
    for name in set(names) - said_here.keys():
        try:
            wanted = metadata.requires(name) or []
        except metadata.PackageNotFoundError:
            continue  # of another system
        plain = [each for each in wanted if "extra ==" not in each]
        asked |= {found[0] for each in plain if (found := re.match(r"[\w.-]+\[[a-z,]+\]", each))}
    assert {"coverage[toml]", "fonttools[woff]"} <= locked
    assert asked <= locked
