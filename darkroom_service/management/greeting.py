"""What a person sees when the service is up: where it is, who can log in, and a first thing to try."""

import json
import uuid
from pathlib import Path
from typing import Any

LOGINS = ("member", "technician", "instructor", "admin")


def text(address: str, data: Path, password: str) -> str:
    """Return the greeting; without a demo it is the address alone."""
    lines = ["", f"Darkroom Service is up: {address}", f"Its data is in {data}. Ctrl-C stops it.", ""]
    if password:
        lines += [f"Demo logins: {', '.join(LOGINS)}; password: {password}", ""]
        lines += _first_steps(address, data, password)
    return "\n".join(lines)


def _first_steps(address: str, data: Path, password: str) -> list[str]:
    """Return a curl that checks a roll in, when the demo said what it needs."""
    path = data / "demo.json"
    demo: dict[str, Any] = json.loads(path.read_text()) if path.exists() else {}
    if not {"darkroom", "check_in"} <= demo.keys():
        return []
    login = json.dumps({"username": "member", "password": password, "name": "first try"})
    return [
        "Check a roll in, as the member:",
        "",
        f"  TOKEN=$(curl -s {address}/api/v1/tokens -H 'Content-Type: application/json' \\",
        f'    -d \'{login}\' | sed \'s/.*"token":"\\([^"]*\\)".*/\\1/\')',
        f"  curl -s -w '\\n' {address}/api/v1/darkrooms/{demo['darkroom']}/check-ins \\",
        f"    -H \"Authorization: Token $TOKEN\" -H 'Idempotency-Key: {uuid.uuid4()}' \\",
        f"    -H 'Content-Type: application/json' -d '{json.dumps(demo['check_in'])}'",
        "",
    ]
