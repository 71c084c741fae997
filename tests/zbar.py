"""Reads QR codes with zbar (Debian's zbar-tools), a decoder that shares no code with the library that draws ours."""

import shutil
import subprocess
from pathlib import Path

import pytest


def read_codes(image: Path) -> list[str]:
    """What the codes in the picture say."""
    zbarimg = shutil.which("zbarimg")
    if zbarimg is None:
        pytest.skip("zbar-tools is not installed")
    done = subprocess.run(
        [zbarimg, "--quiet", "--raw", "--nodbus", "-Sdisable", "-Sqrcode.enable", image], capture_output=True, text=True, timeout=60, check=False
    )
    assert done.returncode == 0, f"no code found in {image.name}: {done.stderr}"
    return done.stdout.splitlines()
