"""`doorside tls`: a private authority for this ward and the server's certificate under it (`base/certificates.py`)."""

from __future__ import annotations

import argparse
import json
from datetime import datetime, timedelta

from app.base import certificates
from app.base.certificates import DAYS, DAYS_MOST, Shown
from app.base.settings import load
from app.base.time import utc_now

SPARE = timedelta(days=2)
"""A certificate that ends so near its authority's end has been cut to it: a renewed one would live no longer."""


def add_parser(subparsers: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """`doorside tls make --name N … --address A … [--days D]` · `tls renew [--days D]` · `tls show` · `tls status`."""
    parser = subparsers.add_parser("tls", help="make, renew, show or watch the certificate for this server's names")
    parser.add_argument("--json", action="store_true", help="print JSON")
    what = parser.add_subparsers(dest="what", metavar="WHAT", required=True)
    make = what.add_parser("make", help="make an authority of your own and a certificate for these names")
    make.add_argument("--name", action="append", default=[], help="a host name that tablets use; may be repeated")
    make.add_argument("--address", action="append", default=[], help="an IP address that tablets use; may be repeated")
    renew = what.add_parser("renew", help="a new certificate for the same names; no tablet has to be told")
    for one in (make, renew):
        one.add_argument("--days", type=int, default=DAYS, help=f"life of the certificate (default {DAYS})")
        one.epilog = f"Tablets refuse certificates of a private authority that live beyond {DAYS_MOST} days."
    what.add_parser("show", help="for which names, until when, and the authority's fingerprint")
    what.add_parser("status", help="how long it still holds; exit status 1 when it is to be renewed, for a daily job")


def run(args: argparse.Namespace) -> int:
    """Makes, renews or shows, and says what to do next. Exit status 1 for a certificate that is to be renewed."""
    folder, now = load().tls_dir, utc_now()
    if args.what == "status":
        return _status(certificates.show(folder), now, as_json=args.json)
    if args.what == "make":
        shown = certificates.make(folder, args.name, args.address, now, args.days)
        after = "Serve with `doorside serve --tls`. On each tablet open /trust and follow it once."
    elif args.what == "renew":
        shown = certificates.renew(folder, now, args.days)
        after = "A server that runs takes it over by itself. Tablets that trust its authority need nothing new."
    else:
        shown, after = certificates.show(folder), ""
    print(json.dumps(_shape(shown), indent=1) if args.json else _words(shown, after))
    return 0


def _status(shown: Shown, now: datetime, *, as_json: bool) -> int:
    renew, days = certificates.ends_soon(shown, now), (shown.until - now).days
    if as_json:
        print(json.dumps({**_shape(shown), "days_left": days, "renew": renew}, indent=1))
    elif not renew:
        print(f"In order: {days} days left, until {shown.until:%Y-%m-%d}.")
    else:
        left = f"Only {days} days left, until" if days >= 0 else "It ran out on"
        new = "make a new authority in another folder and trust it on each tablet"
        do = "renew it with `doorside tls renew`" if shown.ca_until > shown.until + SPARE else new
        print(f"{left} {shown.until:%Y-%m-%d}: {do}.")
    return 1 if renew else 0


def _shape(shown: Shown) -> dict[str, object]:
    return {
        "names": shown.names,
        "addresses": shown.addresses,
        "until": shown.until.isoformat(),
        "authority_until": shown.ca_until.isoformat(),
        "authority_sha256": shown.sha256,
    }


def _words(shown: Shown, after: str) -> str:
    lines = [
        f"For          {', '.join((*shown.names, *shown.addresses))}",
        f"Until        {shown.until:%Y-%m-%d}",
        f"Authority    until {shown.ca_until:%Y-%m-%d}, SHA-256",
        f"             {shown.sha256[:39]}",
        f"             {shown.sha256[40:]}",
    ]
    return "\n".join([*lines, after] if after else lines)
