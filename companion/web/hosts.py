"""By which names a server may be called: a page elsewhere must not reach it by a name of its own.

A browser sends the name that the person's address bar, or another page's code, named. A name that
somebody else owns can be made to lead to this machine; an address of figures cannot.
"""

from __future__ import annotations

import ipaddress
import socket

Address = ipaddress.IPv4Address | ipaddress.IPv6Address


def is_loopback(host: str) -> bool:
    """Whether only this machine can reach that address."""
    address = _address(host)
    return host.lower() == "localhost" if address is None else address.is_loopback


def host_name(header: str) -> str:
    """The name in a Host header, in small letters: without its port, and without brackets."""
    told = header.strip().lower()
    if told.startswith("["):
        return told[1:].partition("]")[0]
    return told.partition(":")[0]


def is_own_name(name: str, listening_on: str) -> bool:
    """Whether a request by that name may be answered by a server that listens on that address.

    Names of this machine's own always; beyond loopback the address itself, and where a server
    listens on every address, any address of figures and this machine's name.
    """
    if is_loopback(name):
        return True
    if is_loopback(listening_on):
        return False
    asked, own = _address(name), _address(listening_on)
    if own is not None and own.is_unspecified:
        return asked is not None or name == socket.gethostname().lower()
    return name == listening_on.lower() or (asked is not None and asked == own)


def _address(host: str) -> Address | None:
    try:
        return ipaddress.ip_address(host)
    except ValueError:
        return None
