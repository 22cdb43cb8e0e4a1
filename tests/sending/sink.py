"""A mail server that is often bad: ``python -m tests.sending.sink PORT FILE SEED``; it writes a line for each answer.

Of all mails it refuses 10 %, lets 5 % hang, and takes 5 % without ever saying so.
"""

import asyncio
import random
import sys
from email import message_from_bytes
from pathlib import Path
from typing import Any

from aiosmtpd.smtp import SMTP

REFUSED, HUNG, DROPPED = 0.10, 0.05, 0.05


class Moody:
    """Decides of each mail how to answer, and writes its Message-ID down with that."""

    def __init__(self, path: Path, seed: int) -> None:
        self.path = path
        self.chance = random.Random(seed)

    async def handle_DATA(self, server: Any, session: Any, envelope: Any) -> str:  # noqa: N802 - the library calls it so
        """Answer one mail."""
        roll = self.chance.random()
        if roll < REFUSED:
            self.note("refused", envelope)
            return "451 4.3.0 not now"
        if roll < REFUSED + HUNG:
            self.note("hung", envelope)
            await asyncio.sleep(3600)
        if roll < REFUSED + HUNG + DROPPED:
            self.note("dropped", envelope)
            server.transport.abort()
            return "250 2.0.0 said to nobody"
        self.note("taken", envelope)
        return "250 2.0.0 taken"

    def note(self, how: str, envelope: Any) -> None:
        """Add a line; what is written is on its way before the answer is."""
        message_id = message_from_bytes(envelope.content)["Message-ID"]
        with self.path.open("a") as file:
            file.write(f"{how} {message_id} {','.join(envelope.rcpt_tos)}\n")


async def main(port: int, path: Path, seed: int) -> None:
    """Serve until killed."""
    moody = Moody(path, seed)
    server = await asyncio.get_running_loop().create_server(
        lambda: SMTP(moody, hostname="sink", enable_SMTPUTF8=True), "127.0.0.1", port
    )
    async with server:
        await server.serve_forever()


if __name__ == "__main__":
    asyncio.run(main(int(sys.argv[1]), Path(sys.argv[2]), int(sys.argv[3])))
