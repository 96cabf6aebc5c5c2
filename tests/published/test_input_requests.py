"""The numbers by which pedals are spoken to, against the kernel's own headers (linux/input.h), compiled."""

from __future__ import annotations

import json
import shutil
import subprocess
from pathlib import Path

import pytest

from rigd.drivers.pedal import device, records

HEADER = Path("/usr/include/linux/input.h")

PROGRAM = r"""
#include <linux/input.h>
#include <stdio.h>
int main(void)
{
    printf("{\"name\": %lu, \"keys\": %lu, \"grab\": %lu, \"clock\": %lu, \"record\": %lu,"
           " \"syn\": %d, \"key\": %d, \"dropped\": %d, \"letters\": [",
           (unsigned long)EVIOCGNAME(256), (unsigned long)EVIOCGBIT(EV_KEY, KEY_MAX / 8 + 1),
           (unsigned long)EVIOCGRAB, (unsigned long)EVIOCSCLOCKID, (unsigned long)sizeof(struct input_event),
           EV_SYN, EV_KEY, SYN_DROPPED);
    int letters[] = {KEY_A, KEY_B, KEY_C, KEY_D, KEY_E, KEY_F, KEY_G, KEY_H, KEY_I, KEY_J, KEY_K, KEY_L, KEY_M,
                     KEY_N, KEY_O, KEY_P, KEY_Q, KEY_R, KEY_S, KEY_T, KEY_U, KEY_V, KEY_W, KEY_X, KEY_Y, KEY_Z};
    for (int i = 0; i < 26; i++)
        printf("%s%d", i ? ", " : "", letters[i]);
    printf("]}\n");
}
"""


@pytest.mark.published
@pytest.mark.skipif(not (shutil.which("gcc") and HEADER.exists()), reason="not installed: gcc, linux-libc-dev")
def test_requests_and_codes_are_the_kernels(tmp_path: Path) -> None:
    source, program = tmp_path / "numbers.c", tmp_path / "numbers"
    source.write_text(PROGRAM)
    subprocess.run(["gcc", "-o", str(program), str(source)], check=True)
    said = json.loads(subprocess.run([str(program)], check=True, capture_output=True).stdout)
    assert said == {
        "name": device.EVIOCGNAME,
        "keys": device.EVIOCGKEYS,
        "grab": device.EVIOCGRAB,
        "clock": device.EVIOCSCLOCKID,
        "record": records.RECORD.size,
        "syn": records.EV_SYN,
        "key": records.EV_KEY,
        "dropped": records.SYN_DROPPED,
        "letters": said["letters"],
    }
    assert set(said["letters"]) == device.LETTERS
