"""The verbs of the cycle: trigger, retake, skip, pause, resume, stop, recover, measure the gate."""

from __future__ import annotations

from functools import partial

from fastapi import APIRouter

from rigd.operations import arming, feeding, going_back, running, verb
from rigd.operations.desk import Desk
from rigd.server.once import Once
from rigd.server.roles import Who, router
from rigd.server.sessions import Role
from rigd.server.wire.answers import AcceptedAnswer, DoneAnswer, answer
from rigd.server.wire.requests import Nothing, RetakeRequest, SkipRequest, TriggerRequest


def hands_on(desk: Desk) -> APIRouter:
    """Routes for the one who works the rig. A command with a nonce is carried out once, however often it arrives."""
    api = router(Role.OPERATOR, hands_on=True)
    once = Once()

    @api.post("/trigger", status_code=202)
    async def trigger(body: TriggerRequest, who: Who) -> AcceptedAnswer:
        """Take the frame in the gate, if it is the one that is meant."""
        work = partial(running.trigger, desk, source=who.source, nonce=body.nonce, target=body.target)
        return answer(AcceptedAnswer, await once.run(body.nonce, work))

    @api.post("/retake", status_code=202)
    async def retake(body: RetakeRequest, who: Who) -> AcceptedAnswer:
        """Take a frame again."""
        work = partial(running.retake, desk, source=who.source, nonce=body.nonce, frame_id=body.frame_id)
        return answer(AcceptedAnswer, await once.run(body.nonce, work))

    @api.post("/skip")
    async def skip(body: SkipRequest, who: Who) -> AcceptedAnswer:
        return answer(AcceptedAnswer, await running.skip(desk, source=who.source, target=body.target))

    @api.post("/back")
    async def back(_: Nothing) -> AcceptedAnswer:
        """Go back to the frame before: the next trigger takes it again."""
        return answer(AcceptedAnswer, await going_back.back(desk))

    @api.post("/gate", status_code=202)
    async def gate(_: Nothing, who: Who) -> AcceptedAnswer:
        return answer(AcceptedAnswer, await running.measure_gate(desk, source=who.source))

    return api


def going_on(desk: Desk) -> APIRouter:
    """Routes for the one who works the rig, to let it go on."""
    api = router(Role.OPERATOR, hands_on=True)

    @api.post("/arm")
    async def arm(_: Nothing, who: Who) -> DoneAnswer:
        await arming.arm(desk, by=who.source)
        return DoneAnswer()

    @api.post("/resume")
    async def resume(_: Nothing, who: Who) -> DoneAnswer:
        await running.resume(desk, by=who.source)
        return DoneAnswer()

    @api.post("/recover", status_code=202)
    async def recover(_: Nothing, who: Who) -> DoneAnswer:
        await running.recover(desk, by=who.source)
        return DoneAnswer()

    return api


def halting(desk: Desk) -> APIRouter:
    """Pause, stop and disarming need no control: whoever sees something go wrong may stop it."""
    api = router(Role.OPERATOR)

    @api.post("/pause")
    async def pause(_: Nothing, who: Who) -> DoneAnswer:
        await running.pause(desk, by=who.source)
        return DoneAnswer()

    @api.post("/disarm")
    async def disarm(_: Nothing, who: Who) -> DoneAnswer:
        await arming.disarm(desk, by=who.source)
        return DoneAnswer()

    @api.post("/stop")
    async def stop(_: Nothing, who: Who) -> DoneAnswer:
        if desk.engine().feed is not None:
            await feeding.stop_film(desk, verb.Nothing(), who.source)
        else:
            await running.stop(desk, by=who.source)
        return DoneAnswer()

    return api
