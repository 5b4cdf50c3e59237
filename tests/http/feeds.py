"""Reads a feed with feedparser, or a calendar with icalendar, and prints what it
found as JSON: for feeds.mjs.

    python3 feeds.py atom|calendar FILE
"""
import datetime
import json
import sys

import feedparser
import icalendar


def atom(data):
    read = feedparser.parse(data)
    return {
        "version": read.version,
        "faults": str(read.get("bozo_exception", "")) if read.bozo else "",
        "id": read.feed.id,
        "title": read.feed.title,
        "updated": read.feed.updated,
        "author": read.feed.author,
        "links": [[link.rel, link.href] for link in read.feed.links],
        "entries": [
            {
                "id": entry.id,
                "title": entry.title,
                "summary": entry.summary,
                "link": entry.link,
                "updated": datetime.datetime(*entry.updated_parsed[:6]).isoformat() + "Z",
                "tags": [tag.term for tag in entry.get("tags", [])],
            }
            for entry in read.entries
        ],
    }


def component(read):
    start = read.get("DTSTART")
    return {
        "kind": read.name,
        "uid": str(read["UID"]),
        "stamp": read.decoded("DTSTAMP").isoformat(),
        "day": start.dt.isoformat() if start else None,
        "whole": bool(start) and type(start.dt) is datetime.date,
        "summary": str(read["SUMMARY"]),
        "description": str(read["DESCRIPTION"]),
        "url": str(read["URL"]),
    }


def calendar(data):
    read = icalendar.Calendar.from_ical(data)
    return {
        "version": str(read["VERSION"]),
        "prodid": str(read["PRODID"]),
        "faults": [str(fault) for part in read.walk() for fault in part.errors],
        "components": [component(part) for part in read.subcomponents],
    }


with open(sys.argv[2], "rb") as file:
    print(json.dumps({"atom": atom, "calendar": calendar}[sys.argv[1]](file.read())))
