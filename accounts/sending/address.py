"""Which addresses a webhook may reach: public ones only, judged after the name was resolved."""

import ipaddress
import socket
from dataclasses import dataclass
from urllib.parse import SplitResult, urlsplit

from django.conf import settings

from accounts.sending.limit import Undelivered

IP = ipaddress.IPv4Address | ipaddress.IPv6Address
# Addresses that carry an IPv4 address of their own: NAT64 (RFC 6052) and its local use (RFC 8215).
NAT64 = (ipaddress.ip_network("64:ff9b::/96"), ipaddress.ip_network("64:ff9b:1::/48"))


@dataclass(frozen=True)
class Target:
    """Where to connect to: one resolved address, and the name to check the certificate against."""

    url: SplitResult
    ip: str
    port: int

    @property
    def host(self) -> str:
        return self.url.hostname or ""

    @property
    def path(self) -> str:
        return (self.url.path or "/") + (f"?{self.url.query}" if self.url.query else "")


def parse(url: str) -> SplitResult:
    """Return an address in its parts, or raise ValueError with why it will not do."""
    parts = urlsplit(url)
    schemes = {"https", "http"} if settings.WEBHOOK_INSIDE else {"https"}
    if parts.scheme not in schemes:
        raise ValueError("a webhook's address begins with https://")
    if not url.isascii() or not url.isprintable() or any(letter in url for letter in ' \\"<>'):
        raise ValueError("an address has no spaces, quotes, backslashes or letters outside ASCII")
    if not parts.hostname or parts.username is not None or parts.password is not None or parts.fragment:
        raise ValueError("give a host, and no user name, password or #part")
    if parts.port == 0:  # reading it raises ValueError when it is no number
        raise ValueError("port 0 is no port")
    return parts


def resolve(url: str) -> Target:
    """Resolve a webhook's address and judge every answer; the connection is then made to the one judged, by number."""
    try:
        parts = parse(url)
        port = parts.port or (443 if parts.scheme == "https" else 80)
        found = socket.getaddrinfo(parts.hostname, port, type=socket.SOCK_STREAM)
    except ValueError as fault:
        raise Undelivered(f"The webhook's address will not do: {fault}.") from fault
    except OSError as fault:
        raise Undelivered(f"The webhook's host was not found: {fault.strerror or fault}.") from fault
    ips = [str(entry[4][0]) for entry in found]
    for ip in ips:
        if not (settings.WEBHOOK_INSIDE or public(ip)):
            raise Undelivered("The webhook's host is inside a private network, which is not spoken to.")
    if not ips:
        raise Undelivered("The webhook's host has no address.")
    return Target(parts, ips[0], port)


def public(text: str) -> bool:
    """Tell whether an address, and every IPv4 address it wraps, is on the open Internet and of one machine."""
    try:
        ip = ipaddress.ip_address(text.split("%", 1)[0])
    except ValueError:
        return False
    return all(each.is_global and not each.is_multicast and not each.is_reserved for each in [*_wrapped(ip)] or [ip])


def _wrapped(ip: IP) -> list[IP]:
    """Return the IPv4 addresses inside an IPv6 one, by whichever rule wraps them."""
    if isinstance(ip, ipaddress.IPv4Address):
        return []
    found: list[IP] = []
    if any(ip in network for network in NAT64):
        found.append(ipaddress.IPv4Address(int(ip) & 0xFFFFFFFF))
    if ip.ipv4_mapped:
        found.append(ip.ipv4_mapped)
    if ip.sixtofour:
        found.append(ip.sixtofour)
    if ip.teredo:
        found += [ip, *ip.teredo]
    if int(ip) >> 32 == 0:  # the old IPv4-compatible form
        found.append(ipaddress.IPv4Address(int(ip)))
    return found
