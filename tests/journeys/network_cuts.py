"""A phone on a network that is cut over and over, in a real Chromium: what was lost, and what was doubled.

The cuts are real: a TCP proxy stands between the browser and the server and drops connections by a seeded
draw, before the request has passed, in the middle of it, or after the server has worked on it and before its
answer is through. On top of it the browser is set offline, pages are reloaded, the service worker is stopped,
and the server is killed with SIGKILL and started again.
"""

from __future__ import annotations

import io
import os
import random
import selectors
import signal
import socket
import struct
import subprocess
import sys
import threading
import time
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from urllib.error import URLError
from urllib.request import urlopen

from django.test import Client
from PIL import Image

from contracting.staff.models import User
from jobs.crew.models import Mark, PhoneAct
from jobs.photos.models import Photo
from jobs.work.models import DayNote, DeliveryEntry, HoursEntry

ROOT = Path(__file__).parent.parent.parent
METHODS = (b"GET ", b"POST ", b"PATCH ", b"HEAD ")
# Cut where it hurts most often: what carries entries and photos.
SENDING = (b" /crew/acts/", b" /crew/pulse/", b" /photos/uploads/")


class CutProxy:
    """Passes bytes on between the browser and the server; each request may be the one that is cut."""

    def __init__(self, upstream: int, *, seed: int) -> None:
        self.upstream, self.draw = upstream, random.Random(seed)
        self.share, self.share_of_others = 0.0, 0.0
        self.cuts: Counter[str] = Counter()
        self._listener = socket.create_server(("127.0.0.1", 0), backlog=128)
        self.port = self._listener.getsockname()[1]
        threading.Thread(target=self._accept, daemon=True).start()

    def close(self) -> None:
        self._listener.close()

    def _accept(self) -> None:
        with suppress(OSError):
            while True:
                client, _address = self._listener.accept()
                threading.Thread(target=self._serve, args=(client,), daemon=True).start()

    def _serve(self, client: socket.socket) -> None:
        try:
            server = socket.create_connection(("127.0.0.1", self.upstream), timeout=10)
        except OSError:
            _reset(client)
            return
        with suppress(OSError):
            self._pass_on(client, server)
        for end in (client, server):
            _reset(end)

    def _pass_on(self, client: socket.socket, server: socket.socket) -> None:
        watch = selectors.DefaultSelector()
        watch.register(client, selectors.EVENT_READ)
        watch.register(server, selectors.EVENT_READ)
        fate = ""
        while True:
            for ready, _events in watch.select(timeout=60) or [(None, None)]:
                if ready is None:
                    return None
                data = ready.fileobj.recv(65536)  # type: ignore[union-attr]
                if not data:
                    return None
                if ready.fileobj is client:
                    if data.startswith(METHODS):
                        fate = self._fate(data)
                    if fate == "before":
                        return self._cut(fate)
                    if fate == "within":
                        server.sendall(data[: self.draw.randrange(1, len(data) + 1)])
                        return self._cut(fate)
                    server.sendall(data)
                elif fate == "answer lost":
                    return self._cut(fate)
                elif fate == "answer torn":
                    client.sendall(data[: self.draw.randrange(0, len(data))])
                    return self._cut(fate)
                else:
                    client.sendall(data)

    def _fate(self, head: bytes) -> str:
        line = head.split(b"\r\n", 1)[0]
        share = self.share if any(one in line for one in SENDING) else self.share_of_others
        if self.draw.random() >= share:
            return "through"
        return self.draw.choice(("before", "within", "answer lost", "answer torn"))

    def _cut(self, fate: str) -> None:
        self.cuts[fate] += 1


def _reset(end: socket.socket) -> None:
    """Close at once, as a radio that has lost its mast does: without a farewell."""
    with suppress(OSError):
        end.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, struct.pack("ii", 1, 0))
        end.close()


class Server:
    """The web server as a process of its own, to be killed and started again on the same port."""

    def __init__(self, environment: dict[str, str]) -> None:
        with socket.create_server(("127.0.0.1", 0)) as free:
            self.port = free.getsockname()[1]
        self.environment = {**os.environ, **environment}
        self.process: subprocess.Popen[bytes] | None = None
        self.kills = 0

    def start(self) -> None:
        command = [sys.executable, "-m", "gunicorn", "contracting.wsgi", "--bind", f"127.0.0.1:{self.port}"]
        command += ["--workers", "1", "--threads", "8", "--log-level", "error", "--no-control-socket"]
        self.process = subprocess.Popen(command, cwd=ROOT, env=self.environment, start_new_session=True)
        for _try in range(300):
            with suppress(URLError, OSError), urlopen(f"http://127.0.0.1:{self.port}/health/", timeout=2):
                return
            time.sleep(0.1)
        raise TimeoutError("The server does not answer.")

    def kill(self) -> None:
        if self.process is not None:
            with suppress(ProcessLookupError):
                os.killpg(self.process.pid, signal.SIGKILL)
            self.process.wait()
            self.kills += 1

    def restart(self) -> None:
        self.kill()
        self.start()


@dataclass
class Told:
    """What the phone entered, by its own keys and words."""

    acts: set[str] = field(default_factory=set)
    photos: set[str] = field(default_factory=set)
    words: list[str] = field(default_factory=list)
    cuts: Counter[str] = field(default_factory=Counter)
    reloads: int = 0
    workers_stopped: int = 0
    kills: int = 0
    offline: int = 0
    seconds: float = 0.0


@contextmanager
def network(environment: dict[str, str], *, seed: int) -> Iterator[tuple[Server, CutProxy]]:
    server = Server(environment)
    server.start()
    proxy = CutProxy(server.port, seed=seed)
    try:
        yield server, proxy
    finally:
        proxy.close()
        server.kill()


class Hand:
    """Somebody who goes on entering, whatever the network does."""

    def __init__(self, context: Any, job: int, server: Server, proxy: CutProxy, *, seed: int) -> None:
        self.context, self.job, self.server, self.proxy = context, job, server, proxy
        self.draw, self.told = random.Random(seed), Told()
        self.page = context.new_page()
        self.page.on("dialog", lambda dialog: dialog.accept())
        self.at = ""
        self.is_offline = False

    def opens(self, part: str = "") -> None:
        for _try in range(20):
            try:
                self.page.goto(f"/crew/jobs/{self.job}/{part}", wait_until="domcontentloaded", timeout=15_000)
                self.page.locator("body[data-ready]").wait_for(timeout=15_000)
            except Exception:
                continue
            self.at = part
            return
        raise AssertionError(f"The page {part} does not open.")

    def enters(self, number: int) -> None:
        """Enter one thing by the page's own form; it counts once the page says that it is kept."""
        kind = ("notes/", "materials/", "hours/", "cuts/")[number % 4]
        word = f"entry {number}"
        if self.at != kind:
            self.opens(kind)
        before = self.kept("acts")
        if kind == "notes/":
            self.page.locator("#n-text").fill(word)
            self.page.locator("form[data-kind=note] button.btn").click()
        elif kind == "materials/":
            self.page.locator("input[name=material_key]").first.check()
            self.page.locator("#m-packs").fill("1")
            self.page.locator("#m-lot").fill(word)
            self.page.locator("form[data-kind=delivery] button.btn").click()
        elif kind == "hours/":
            self.page.locator("input[name=step][value=preparation]").check()
            self.page.locator("#hours-minutes").fill("0:10")
            self.page.locator("#hours-note").fill(word)
            self.page.locator("form[data-kind=hours] button.btn").click()
        else:
            word = self.page.locator("form.tick-form").nth(number // 4).get_attribute("data-ref")
            self.page.locator(".tick-box").nth(number // 4).click()
        self._until_kept("acts", before)
        self.told.words.append(word)

    def photographs(self, number: int) -> None:
        self.opens("photos/")
        before = self.kept("photos")
        self.page.locator("#p-caption").fill(f"photo {number}")
        file = {"name": f"{number}.jpg", "mimeType": "image/jpeg", "buffer": picture(number)}
        self.page.locator("#p-gallery").set_input_files(file)
        self._until_kept("photos", before)

    def kept(self, store: str) -> int:
        return len(self.keys(store))

    def keys(self, store: str) -> set[str]:
        for _try in range(20):
            try:
                return set(
                    self.page.evaluate(f"crew.store.of('{store}').then(all => all.map(one => one.key))")
                )
            except Exception:
                # The page was reloading; what is stored is asked of the next one.
                self.opens(self.at)
        raise AssertionError("The store does not answer.")

    def _until_kept(self, store: str, before: int) -> None:
        for _try in range(400):
            if self.kept(store) > before:
                return
            time.sleep(0.02)
        raise AssertionError(f"Not kept: {self.page.locator('#crew-said').inner_text()}")

    def happens(self) -> None:
        """Let something happen to the phone or the server, by the seeded draw."""
        what = self.draw.random()
        if what < 0.12:
            self.is_offline = not self.is_offline
            self.context.set_offline(self.is_offline)
            self.told.offline += self.is_offline
        elif what < 0.22:
            self.told.reloads += 1
            self.opens(self.at)
        elif what < 0.30:
            self.stops_worker()
        elif what < 0.34:
            threading.Thread(target=self.server.restart).start()

    def stops_worker(self) -> None:
        devtools = self.context.new_cdp_session(self.page)
        devtools.send("ServiceWorker.enable")
        devtools.send("ServiceWorker.stopAllWorkers")
        devtools.detach()
        self.told.workers_stopped += 1

    def sends_all(self, *, cuts: int, patience: float = 240) -> None:
        """Go on until everything is sent; the network stays bad until *cuts* were counted."""
        self.context.set_offline(False)
        until = time.monotonic() + patience
        while time.monotonic() < until:
            if self.proxy.cuts.total() >= cuts:
                self.proxy.share = self.proxy.share_of_others = 0
            with suppress(Exception):
                self.page.evaluate("crew.sync.soon()")
                left = self.page.evaluate(
                    "crew.queue.tally().then(all => Object.values(all).map(one => one.waiting)"
                    ".reduce((sum, one) => sum + one, 0))"
                )
                if not left:
                    return
            time.sleep(0.05)
        raise AssertionError("Not everything was sent.")


def picture(number: int) -> bytes:
    """A picture that does not shrink to nothing: some of it is noise, by its number."""
    noise = random.Random(number).randbytes(400 * 300 * 3)
    file = io.BytesIO()
    Image.frombytes("RGB", (400, 300), noise).resize((1200, 900)).save(file, "JPEG", quality=90)
    return file.getvalue()


def day_on_site(
    hand: Hand, *, entries: int, photos: int, cuts: int, share: float = 0.6, share_of_others: float = 0.08
) -> Told:
    """Enter everything while the network is cut, then wait until all of it is sent."""
    began = time.monotonic()
    hand.opens()
    hand.page.locator("body[data-warm]").wait_for(timeout=60_000)
    hand.proxy.share, hand.proxy.share_of_others = share, share_of_others
    photo_after = {round((one + 1) * entries / (photos + 1)): one for one in range(photos)}
    by_kind = sorted(range(entries), key=lambda number: (number // 20, number % 4, number))
    for place, number in enumerate(by_kind):
        hand.enters(number)
        hand.happens()
        if place in photo_after:
            hand.photographs(photo_after[place])
    told = hand.told
    told.acts, told.photos = hand.keys("acts"), hand.keys("photos")
    hand.sends_all(cuts=cuts)
    told.cuts, told.kills = hand.proxy.cuts, hand.server.kills
    told.seconds = time.monotonic() - began
    return told


def phone(browser: Any, proxy: CutProxy, person: User) -> Any:
    """A phone of *person*, signed in, whose every byte goes through *proxy*."""
    address = f"http://localhost:{proxy.port}"
    client = Client()
    client.force_login(person)
    context = browser.new_context(base_url=address, viewport={"width": 390, "height": 844})
    cookie = {"name": "sessionid", "value": client.cookies["sessionid"].value, "url": address}
    context.add_cookies([cookie])
    return context


def lost_and_doubled(told: Told) -> tuple[int, int]:
    """Compare what the phone entered with what the server has, by keys and by what the effects say."""
    acts = list(PhoneAct.objects.filter(outcome="done").values_list("key", flat=True))
    photos = list(Photo.objects.values_list("key", flat=True))
    effects = Counter(
        [
            *DayNote.objects.values_list("text", flat=True),
            *DeliveryEntry.objects.values_list("lot_numbers", flat=True),
            *HoursEntry.objects.values_list("note", flat=True),
            *Mark.objects.values_list("ref", flat=True),
        ]
    )
    lost = len(told.acts - {str(key) for key in acts}) + len(told.photos - {str(key) for key in photos})
    lost += sum((Counter(told.words) - effects).values())
    doubled = sum((effects - Counter(told.words)).values())
    doubled += len(acts) - len(set(acts)) + len(photos) - len(set(photos))
    return lost, doubled
