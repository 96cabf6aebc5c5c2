"""What a delivery says of itself: to people in plain text, to programs as JSON and as the labels of a bag."""

from __future__ import annotations

from datetime import date

from rigd.handover.planning import RollPlan


def bag_info(title: str, today: date) -> dict[str, str]:
    """Labels of bag-info.txt (RFC 8493, section 2.2.2)."""
    return {
        "External-Description": f"{title}: film digitised with a camera; raw files, positives, proofs, record",
        "Bagging-Date": today.isoformat(),
        "Bag-Software-Agent": "rigd",
    }


def readme(title: str, roll: RollPlan) -> bytes:
    """What is what, for somebody who finds the folder in thirty years."""
    lines = [
        title, f"Roll {roll.label}", "",
        f"This folder holds {len(roll.frames)} pictures of one roll of film, photographed frame by frame.", "",
        "raw/        What the camera recorded, unchanged (DNG or the camera's own format): this is the archive. Beside",
        "            each file stands what is told about it (XMP, ISO 16684-1). Takes that were not kept: raw/other/.",
        "positives/  One picture a frame, made from the raws: TIFF 6.0, 16 bits, with an ICC profile.",
        "proofs/     The same pictures, small: JPEG.",
        "contact-sheet.pdf, .png  All pictures at a glance, by strip.",
        "frames.csv  One line a frame, in the order of the film. names.csv: which file was which in the store.",
        "roll.json   What was recorded about roll, strips, frames and exposures. Times are UTC; levels are stops under",
        "            saturation.",
        "", "Checksums of all files stand in the manifests of the bag around this folder (BagIt 1.0, RFC 8493).",
        "`sha256sum -c manifest-sha256.txt`, run in the bag's folder, checks them.", "",
    ]  # fmt: skip
    if roll.left:
        lines += ["Frames without a picture:", *(f"  {one.number:>3}  {one.why}" for one in roll.left), ""]
    return "\n".join(lines).encode()
