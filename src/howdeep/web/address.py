"""The address at which others reach the page, and its picture for a camera."""

from __future__ import annotations

import io
import ipaddress
import socket

import segno

ANYWHERE = {"": socket.AF_INET, "0.0.0.0": socket.AF_INET, "::": socket.AF_INET6}
NOWHERE = {socket.AF_INET: "192.0.2.1", socket.AF_INET6: "2001:db8::1"}
"""Addresses that no machine has (RFC 5737, RFC 3849): asking which way to them sends nothing and tells our own."""


def is_loopback(host: str) -> bool:
    """Whether an address can be reached from this machine alone."""
    if host == "localhost":
        return True
    try:
        told = ipaddress.ip_address(host)
    except ValueError:
        return False
    mapped = getattr(told, "ipv4_mapped", None)
    return (mapped or told).is_loopback


def address_for_others(host: str, port: int) -> str:
    """'http://192.168.1.7:8420' where a page that listens on `host` is reached from another device."""
    if host in ANYWHERE:
        host = own_address(ANYWHERE[host]) or socket.gethostname()
    return f"http://{f'[{host}]' if ':' in host else host}:{port}"


def own_address(family: socket.AddressFamily) -> str:
    """This machine's address in its network; empty where it has none. Nothing is sent."""
    try:
        with socket.socket(family, socket.SOCK_DGRAM) as asked:
            asked.connect((NOWHERE[family], 9))
            found = str(asked.getsockname()[0])
    except OSError:
        return ""
    return "" if is_loopback(found) else found


def qr_text(address: str) -> str:
    """The QR code (ISO/IEC 18004) of an address, for a terminal: two rows of modules to a line of text."""
    out = io.StringIO()
    segno.make(address, micro=False).terminal(out, border=2, compact=True)
    return out.getvalue()


def qr_address(address: str) -> str:
    """The QR code of an address as a picture that stands in a page: a data address (SVG)."""
    return segno.make(address, micro=False, error="m").svg_data_uri(scale=6, border=4, dark="#000", light="#fff")


__all__ = ["address_for_others", "is_loopback", "own_address", "qr_address", "qr_text"]
