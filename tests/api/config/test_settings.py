"""The settings as the shop runs with them: in production, at the first start, and their static files."""

import os
import subprocess
import sys

import pytest
from django.conf import settings
from django.test import Client

from tests.tidy.rules import ROOT

PRODUCTION = {
    "MATCHBORE_SECRET_KEY": "a secret of a production shop that is long enough and has many different letters 0123456789",
    "MATCHBORE_HTTPS": "1",
    "MATCHBORE_ALLOWED_HOSTS": "shop.example",
}


def manage(arguments: list[str], data, **variables: str) -> subprocess.CompletedProcess[str]:
    """Run a command as a process of its own that has only these variables."""
    kept = {name: os.environ[name] for name in ("PATH", "DATABASE_URL") if name in os.environ}
    return subprocess.run(
        [sys.executable, str(ROOT / "manage.py"), *arguments],
        env={**kept, "MATCHBORE_NO_VENV": "1", "MATCHBORE_DATA": str(data), **variables},
        capture_output=True,
        text=True,
        timeout=120,
    )


def test_production_settings_pass_the_deployment_check(tmp_path):
    told = manage(["check", "--deploy", "--fail-level", "WARNING"], tmp_path, **PRODUCTION)
    assert (told.returncode, told.stdout.strip()) == (0, "System check identified no issues (0 silenced)."), told.stderr


def test_the_same_check_warns_without_https_so_it_can_fail(tmp_path):
    told = manage(["check", "--deploy", "--fail-level", "WARNING"], tmp_path, **PRODUCTION | {"MATCHBORE_HTTPS": "0"})
    assert told.returncode == 1
    # W008 (no redirect to https), W012 and W016 (cookies in the clear): Django documentation, "System check framework".
    assert [code in told.stderr for code in ("security.W008", "security.W012", "security.W016")] == [True] * 3


def test_a_first_start_without_any_variable_makes_its_own_secret_and_hides_error_pages(tmp_path):
    program = "from django.conf import settings as s; print(s.DEBUG, len(s.SECRET_KEY) > 60, s.ALLOWED_HOSTS)"
    told = manage(["shell", "--no-imports", "-c", program], tmp_path / "data")
    assert told.stdout.strip() == "False True ['localhost', '127.0.0.1', '[::1]']", told.stderr
    assert (tmp_path / "data" / "secret-key").exists()


def test_models_and_migrations_agree(tmp_path):
    told = manage(["makemigrations", "--check", "--dry-run"], tmp_path)
    assert (told.returncode, told.stdout.strip()) == (0, "No changes detected"), told.stdout + told.stderr


def test_no_request_opens_a_transaction_by_itself():
    assert [base["ATOMIC_REQUESTS"] for base in settings.DATABASES.values()] == [False]
    assert (settings.TIME_ZONE, settings.USE_TZ) == ("UTC", True)


def test_the_shop_has_a_time_zone_and_its_databases_keep_utc(tmp_path):
    program = "from django.db import connection as c; from django.utils.timezone import get_default_timezone_name as n; print(n(), c.timezone_name)"
    told = manage(["shell", "--no-imports", "-c", program], tmp_path, MATCHBORE_TIME_ZONE="Europe/Athens")
    assert told.stdout.strip() == "Europe/Athens UTC", told.stderr
    refused = manage(["check"], tmp_path, MATCHBORE_TIME_ZONE="Europe/Atens")
    assert refused.returncode == 1
    assert "MATCHBORE_TIME_ZONE is 'Europe/Atens'; write the name of a time zone" in refused.stderr


@pytest.mark.parametrize("path", ["admin/css/base.css", "drf_spectacular_sidecar/swagger-ui-dist/swagger-ui.css"])
def test_static_files_are_served_without_a_collecting_step(path):
    answer = Client().get(f"/{settings.STATIC_URL.strip('/')}/{path}")
    assert (answer.status_code, answer["Content-Type"]) == (200, 'text/css; charset="utf-8"')
    assert b"{" in b"".join(answer.streaming_content)
