"""A page of HTML as a reader takes it in: its words, tables and pictures, and what is wrong with it."""

from __future__ import annotations

from html.parser import HTMLParser

VOID = {"meta", "img", "br", "link", "input", "hr"}


class Page(HTMLParser):
    """Reads a page: what is open, the addresses it uses, its tables, its words."""

    def __init__(self, text):
        super().__init__(convert_charrefs=True)
        self.open, self.wrong, self.addresses, self.ids, self.tables = [], [], [], [], {}
        self.words, self.pictures, self.table, self.cell = [], [], None, None
        self.feed(text)
        self.close()

    def handle_starttag(self, tag, attrs):
        found = dict(attrs)
        self.addresses += [found[name] for name in ("src", "href", "action", "poster", "srcset") if name in found]
        self.ids += [found["id"]] if "id" in found else []
        if tag == "img":
            self.pictures.append(found)
        if tag == "table":
            self.table = found.get("id", "")
            self.tables[self.table] = []
        elif tag == "tr" and self.table is not None:
            self.tables[self.table].append([])
        elif tag in ("td", "th") and self.table is not None:
            self.tables[self.table][-1].append("")
            self.cell = True
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag):
        if not self.open or self.open.pop() != tag:
            self.wrong.append(tag)
        if tag in ("td", "th"):
            self.cell = None
        if tag == "table":
            self.table = None

    def handle_data(self, data):
        if self.open and self.open[-1] not in ("style", "script"):
            self.words.append(data)
        if self.cell and self.table is not None:
            self.tables[self.table][-1][-1] += data
