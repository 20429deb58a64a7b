"""The program's own settings, with a data folder of this test process alone and quick password hashing."""

import atexit
import os
import shutil
import tempfile

_folder = tempfile.mkdtemp(prefix="matchbore-tests-")
atexit.register(shutil.rmtree, _folder, ignore_errors=True)
os.environ["MATCHBORE_DATA"] = _folder

from api.config.settings import *  # noqa: E402, F403 - the folder must be known before the settings are read

PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
# Files are looked up when they are asked for: a client of each test would else list them all.
WHITENOISE_AUTOREFRESH = True
