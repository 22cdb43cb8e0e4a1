"""A limit on a whole exchange: a socket's own timeout is for each read, so a drip of single bytes would outlast it."""

import socket
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from threading import Timer


class Undelivered(Exception):
    """Why something could not be handed over, in words for an admin; ``final`` when trying again is no use."""

    def __init__(self, words: str, *, final: bool = False) -> None:
        super().__init__(words)
        self.words = words
        self.final = final


@contextmanager
def cut_off(seconds: float, wire: Callable[[], socket.socket | None]) -> Iterator[None]:
    """Shut the connection down after ``seconds``, whatever it is doing; whoever reads from it then gets an error."""

    def cut() -> None:
        line = wire()
        if line is not None:
            with suppress(OSError):
                line.shutdown(socket.SHUT_RDWR)

    timer = Timer(seconds, cut)
    timer.daemon = True
    timer.start()
    try:
        yield
    finally:
        timer.cancel()
