"""Letting devices in, listing and sending them away: the host's business, on its own machine. And who works the rig."""

from __future__ import annotations

from fastapi import APIRouter

from rigd.errors import NotFound
from rigd.server import qr
from rigd.server.codes import Offer, Pairing, Role
from rigd.server.guard import GuardConfig
from rigd.server.roles import Who, router
from rigd.server.sessions import Session
from rigd.server.wire.answers import DoneAnswer
from rigd.server.wire.people import (
    ControlAnswer,
    ControlRequest,
    DeviceAnswer,
    HolderAnswer,
    LetInAnswer,
    LetInRequest,
    OfferAnswer,
    PairingAnswer,
    PairingStateAnswer,
    PairRequest,
    RenameRequest,
)
from rigd.server.wire.requests import Nothing


def pairing(config: GuardConfig) -> APIRouter:
    """Opening and shutting the door."""
    api = router(Role.HOST)
    codes = config.book.codes

    @api.get("/pairing")
    async def look() -> PairingStateAnswer:
        """Whether somebody is being let in."""
        now = codes.pairing
        shown = _pairing(now) if now else None
        return PairingStateAnswer(open=shown, worn_out=codes.worn_out, addresses=list(config.addresses))

    @api.post("/pairing", status_code=201)
    async def open_it(body: PairRequest) -> OfferAnswer:
        """Let one device in within ten minutes. What was open before is shut."""
        return _offer(config, codes.open(Role[body.role.upper()]))

    @api.post("/pairing/shut")
    async def shut_it(_: Nothing) -> DoneAnswer:
        """Let nobody in any more."""
        codes.shut()
        return DoneAnswer()

    return api


def devices(config: GuardConfig) -> APIRouter:
    """Who has been let in."""
    api = router(Role.HOST)
    book = config.book

    @api.get("/devices")
    async def listed(who: Who) -> list[DeviceAnswer]:
        """Every device, with when and where it was seen last."""
        return [_device(config, session, who) for session in book.listed()]

    @api.post("/devices", status_code=201)
    async def let_in(body: LetInRequest) -> LetInAnswer:
        """Let a program in, by a token."""
        token = book.let_in(Role[body.role.upper()], body.name)
        session = book.find(token)
        assert session is not None, "it has just been made"
        return LetInAnswer(id=session.session_id, name=session.name, token=token)

    @api.post("/devices/{device_id}/revoke")
    async def revoke(device_id: int, _: Nothing) -> DoneAnswer:
        """End a device's session. Its pages are locked at once."""
        _known(book.revoke(device_id), device_id)
        return DoneAnswer()

    @api.post("/devices/{device_id}/name")
    async def rename(device_id: int, body: RenameRequest) -> DeviceAnswer:
        """Call a device something else. What it has done keeps the name it had."""
        _known(book.rename(device_id, body.name), device_id)
        session = next(one for one in book.listed() if one.session_id == device_id)
        config.control.renamed(device_id, session.name)
        return _device(config, session, session)

    return api


def who_works(config: GuardConfig) -> APIRouter:
    """Looking who has control."""
    api = router(Role.VIEWER)

    @api.get("/control")
    async def look() -> ControlAnswer:
        """Who works the rig."""
        return _control(config)

    return api


def control(config: GuardConfig) -> APIRouter:
    """Taking control and letting go of it."""
    api = router(Role.OPERATOR)

    @api.post("/control")
    async def change(body: ControlRequest, who: Who) -> ControlAnswer:
        """Take control from whoever has it, or let go of it. The host may free it from anybody."""
        (config.control.take if body.hold else config.control.give_up)(who)
        return _control(config)

    return api


def _control(config: GuardConfig) -> ControlAnswer:
    holder = config.control.holder
    return ControlAnswer(holder=HolderAnswer(id=holder.id, name=holder.name) if holder else None)


def _pairing(now: Pairing) -> PairingAnswer:
    return PairingAnswer.model_validate({"role": now.role.name.lower(), "until": now.until, "wrong": now.wrong})


def _offer(config: GuardConfig, offer: Offer) -> OfferAnswer:
    link = f"{config.addresses[0]}/#{offer.code}"
    return OfferAnswer.model_validate(
        {
            "link": link, "qr": qr.rows(link), "typed": offer.typed, "addresses": config.addresses,
            "role": offer.pairing.role.name.lower(), "until": offer.pairing.until,
        }
    )  # fmt: skip


def _device(config: GuardConfig, session: Session, who: Session) -> DeviceAnswer:
    holder = config.control.holder
    return DeviceAnswer.model_validate(
        {
            "id": session.session_id, "name": session.name, "role": session.role.name.lower(),
            "made_at": session.made_at, "seen_at": session.seen_at, "address": session.address,
            "here": config.control.present.has(session.session_id), "you": session.session_id == who.session_id,
            "control": holder is not None and holder.id == session.session_id, "kept": session.kept,
        }
    )  # fmt: skip


def _known(found: bool, device_id: int) -> None:
    if not found:
        raise NotFound(f"There is no device {device_id}.", "It may have been sent away already.", "Look at the list.")
