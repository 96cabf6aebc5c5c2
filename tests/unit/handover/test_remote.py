"""A bag sent elsewhere over the real protocols: whole, gone on with, refused, read back."""

from __future__ import annotations

import subprocess
import sys
from datetime import date
from pathlib import Path

import bagit
import boto3
import pytest
from moto.server import ThreadedMotoServer
from tests.unit.handover.stores import sftp_server
from tests.unit.handover.test_delivery import Inline

from rigd.errors import InputError
from rigd.handover.deliver import Delivery
from rigd.handover.remote import Remote, SendFailed, send_bag

SEND = """
import sys
from pathlib import Path
from rigd.handover.remote import Remote, send_bag
remote = Remote("s3://archive/evening", client_kwargs={"endpoint_url": sys.argv[2]})
done = send_bag(Path(sys.argv[1]), "j-1", remote, lambda n, of: None)
print(done.files, done.now)
"""


@pytest.fixture
async def bag(tmp_path, make_roll) -> Path:
    roll = make_roll(2)
    await Delivery("j-1", "Survey", (roll,), tmp_path / "job", tmp_path / "out", Inline()).run(date(2026, 3, 1))
    return tmp_path / "out"


def sent(bag: Path, remote: Remote):
    steps: list[tuple[int, int]] = []
    done = send_bag(bag, "j-1", remote, lambda n, of: steps.append((n, of)))
    assert steps[-1][0] == steps[-1][1] == done.files
    return done


def test_over_sftp_a_bag_arrives_whole_and_is_gone_on_with(bag, tmp_path):
    far = tmp_path / "far"
    far.mkdir()
    with sftp_server(far) as port:
        def remote() -> Remote:
            return Remote("sftp://127.0.0.1/evening", port=port, username="rigd", password="rigd")

        first = sent(bag, remote())
        assert first.now == first.files
        bagit.Bag(str(far / "evening")).validate()
        assert not (far / "evening" / "handover.json").exists()
        assert not list(far.rglob("*.part"))
        assert sent(bag, remote()).now == 0
        (far / "evening" / "data" / "Q_7" / "proofs" / "q-002.jpg").unlink()
        (far / "evening" / "bagit.txt").unlink()
        assert sent(bag, remote()).now == 2
        bagit.Bag(str(far / "evening")).validate()


def test_over_s3_a_bag_arrives_whole(bag, tmp_path, monkeypatch):
    for name in ("AWS_ACCESS_KEY_ID", "AWS_SECRET_ACCESS_KEY"):
        monkeypatch.setenv(name, "rigd")
    monkeypatch.setenv("AWS_DEFAULT_REGION", "us-east-1")
    server = ThreadedMotoServer(ip_address="127.0.0.1", port=0, verbose=False)
    server.start()
    try:
        host, port = server.get_host_and_port()
        client = boto3.client("s3", endpoint_url=f"http://{host}:{port}")
        client.create_bucket(Bucket="archive")
        # In a process of its own: fsspec's stores of this kind keep a thread for as long as their process lives.
        for now in (True, False):
            done = subprocess.run([sys.executable, "-c", SEND, str(bag), f"http://{host}:{port}"], check=True,
                                  capture_output=True, text=True)  # fmt: skip
            files, newly = map(int, done.stdout.split())
            assert newly == (files if now else 0)
        listed = client.list_objects_v2(Bucket="archive")["Contents"]
        assert len(listed) == files
        back = tmp_path / "back"
        for one in listed:
            target = back / one["Key"]
            target.parent.mkdir(parents=True, exist_ok=True)
            client.download_file("archive", one["Key"], str(target))
        bagit.Bag(str(back / "evening")).validate()
    finally:
        server.stop()


def test_what_does_not_arrive_whole_is_said_and_the_bag_there_is_no_bag(bag, tmp_path, monkeypatch):
    remote = Remote(f"file://{tmp_path}/far")
    whole = type(remote._fs).put_file

    def cut_short(self, source, target, **more):
        whole(self, source, target, **more)
        if target.endswith("q-001.tif.part"):
            Path(target).write_bytes(Path(target).read_bytes()[:-7])

    monkeypatch.setattr(type(remote._fs), "put_file", cut_short)
    with pytest.raises(SendFailed, match="did not arrive whole"):
        sent(bag, remote)
    assert not (tmp_path / "far" / "bagit.txt").exists()
    assert not list((tmp_path / "far").rglob("q-001.tif"))
    monkeypatch.undo()
    done = sent(bag, Remote(f"file://{tmp_path}/far"))
    assert 0 < done.now < done.files  # what had arrived is not sent again
    bagit.Bag(str(tmp_path / "far")).validate()


def test_a_changed_bag_opens_the_one_there_and_closes_it_again(bag, tmp_path):
    sent(bag, Remote(f"file://{tmp_path}/far"))
    (bag / "bag-info.txt").write_text("Bag-Software-Agent: rigd\n")
    with pytest.raises(bagit.BagError):
        bagit.Bag(str(bag)).validate()  # somebody changed it: the copy there is the same, no better
    assert sent(bag, Remote(f"file://{tmp_path}/far")).now == 2


@pytest.mark.parametrize("url", ["gopher://archive/evening", "sftp://"])
def test_an_address_that_cannot_be_is_refused(url):
    with pytest.raises((InputError, SendFailed)):
        Remote(url)


def test_nobody_there(bag):
    with pytest.raises(SendFailed, match="cannot be reached"):
        Remote("sftp://127.0.0.1/evening", port=1, username="rigd", password="rigd")


def test_only_what_is_whole_is_sent(bag, tmp_path):
    (bag / "bagit.txt").unlink()
    with pytest.raises(InputError, match="no complete bag"):
        sent(bag, Remote(f"file://{tmp_path}/far"))
