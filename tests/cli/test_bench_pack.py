"""`pupilage bench pack` makes packs in processes of their own and says how long and how large."""

import json
import subprocess
import sys


def test_pack_of_5000_trials_is_measured(own_data_folder):
    command = [sys.executable, "-m", "pupilage", "bench", "pack", "--runs", "1", "--json"]
    done = subprocess.run(command, capture_output=True, text=True, check=True)
    rows = {row["what"]: row["measured"] for row in json.loads(done.stdout)}
    assert rows["pack, 12 behaviours, 5,000 trials"].endswith(" s")
    assert rows["its memory"].endswith(" MB")
