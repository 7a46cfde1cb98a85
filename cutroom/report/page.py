"""The report: one HTML page that stands alone, to be printed and kept with the job."""

import base64
from collections.abc import Iterable, Sequence
from html import escape

from cutroom.model.finding import Finding, Severity
from cutroom.model.marker import Marker
from cutroom.report.cautions import cautions
from cutroom.report.cut_list import boxes, fabric_of, named
from cutroom.report.figures import bought_for, say_metres, say_yards, utilisation
from cutroom.report.look import STYLE
from cutroom.report.rules import rules_in_force
from cutroom.report.values import CutLine, DraftFacts, MarkerSheet, ProofRow, Recount, Report, WalkLine
from cutroom.report.words import Facts, cloth_facts, face_word, marker_figures, nap_word, two_units
from cutroom.units import Unit, format_length

_UNIT_WORDS = {
    Unit.INCH: "inches",
    Unit.CENTIMETRE: "centimetres",
    Unit.MILLIMETRE: "millimetres",
    Unit.METRE: "metres",
    Unit.FOOT: "feet",
    Unit.YARD: "yards",
}
_ORDER = (Severity.STOP, Severity.WARN, Severity.NOTE)


def write_report(report: Report) -> bytes:
    """Write the report as one HTML page, UTF-8, that needs nothing else.

    Args:
        report: What to print; every text in it is escaped.

    Returns:
        The bytes, the same for the same report on any day.
    """
    findings = _all_findings(report)
    parts = [
        '<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">',
        '<meta name="viewport" content="width=device-width, initial-scale=1">',
        f"<title>{escape(report.title)}</title>\n<style>{STYLE}</style>\n</head>\n<body>",
        f'<h1>{escape(report.title)}</h1>\n<hr class="thread">',
        _verdict(report, findings),
        _findings(findings),
        *(_marker(sheet, report.unit) for sheet in report.markers),
        _scale(report),
        _walks(report.walks, report.unit),
        _drafts(report.drafts),
        _proofs(report.proofs),
        _cautions(report),
        '<div class="sign"><span>checked by</span><span>date</span><span>square measured</span></div>',
        (
            f"<footer>Made by {escape(report.made_by)}. Lengths are in {_UNIT_WORDS[report.unit]} first. "
            "A STOP keeps files from being written; a WARN is to be looked at; a NOTE is to be known.</footer>"
        ),
        "</body>\n</html>\n",
    ]
    return "\n".join(part for part in parts if part).encode("utf-8")


def _all_findings(report: Report) -> list[Finding]:
    """The findings, the gravest first, with what the second counts, the walks, the proofs and the square say."""
    found = list(report.findings)
    if report.scale is not None:
        found.append(report.scale.finding)
    for sheet in report.markers:
        found += [
            Finding(
                Severity.STOP,
                f"{count.file}, {count.what}",
                f"{count.found} were counted, wanted {count.wanted}",
                "Do not cut from this file; make it again",
            )
            for count in sheet.recounts
            if count.found != count.wanted
        ]
    found += [
        Finding(
            Severity.STOP, row.file, f"read back, it does not agree with the marker ({row.compared})", "Do not use it"
        )
        for row in report.proofs
        if not row.passed
    ]
    return sorted(dict.fromkeys(found), key=lambda finding: _ORDER.index(finding.severity))


def _verdict(report: Report, findings: Sequence[Finding]) -> str:
    counts = {severity: sum(one.severity is severity for one in findings) for severity in _ORDER}
    misfits = sum(not walk.fits for walk in report.walks)
    pieces = sum(line.count for sheet in report.markers for line in sheet.cut_list)
    if counts[Severity.STOP]:
        word, kind, text = "STOP", "stop", f"Do not cut. {_count(counts[Severity.STOP], 'reason')} below."
    elif counts[Severity.WARN] or misfits:
        word, kind = "LOOK FIRST", "warn"
        text = f"{_count(counts[Severity.WARN] + misfits, 'thing')} to look at before cutting."
    else:
        word, kind, text = "PASS", "pass", "The checks of this program found nothing against it."
    sheets = f"{_count(len(report.markers), 'marker')}, {_count(pieces, 'piece')} to cut."
    return f'<div class="verdict {kind}"><strong>{word}</strong><span>{text} {sheets}</span></div>'


def _findings(findings: Sequence[Finding]) -> str:
    rows = [
        f'<tr><td><span class="word {one.severity.value}">{one.severity.upper()}</span></td>'
        f'<td><b>{escape(one.place)}</b>: {escape(one.what)}. <span class="fix">{escape(one.fix)}.</span></td></tr>'
        for one in findings
    ]
    return f"<h2>Findings</h2>\n<table><tbody>\n{_lines(rows)}\n</tbody></table>" if rows else ""


def _marker(sheet: MarkerSheet, unit: Unit) -> str:
    marker = sheet.marker
    buy = bought_for(marker)
    big = (
        ("marker length", format_length(marker.length, unit)),
        ("usable width", format_length(marker.width, unit)),
        ("cloth used", f"{utilisation(marker) * 100:.2f} %"),
        ("buy", f"{say_yards(buy.yards)} or {say_metres(buy.metric)}"),
        ("face", face_word(marker.fabric)),
        ("nap", nap_word(marker.fabric)),
    )
    return "\n".join(
        (
            '<section class="marker">',
            f"<h2>Marker: {escape(marker.name)}</h2>",
            '<div class="big">' + "".join(f"<div><span>{n}</span><b>{escape(t)}</b></div>" for n, t in big) + "</div>",
            _picture(sheet),
            f"<h3>Cloth</h3>\n{_facts(cloth_facts(marker.fabric, unit))}",
            _rules(marker, unit),
            f"<h3>Figures</h3>\n{_facts(marker_figures(sheet, unit))}",
            _cut_list(sheet.cut_list),
            _recounts(sheet.recounts),
            "</section>",
        )
    )


def _rules(marker: Marker, unit: Unit) -> str:
    rules = rules_in_force(marker, unit)
    return f"<h3>Laid by these rules</h3>\n{_facts(rules)}" if rules else ""


def _picture(sheet: MarkerSheet) -> str:
    if not sheet.picture:
        return ""
    data = base64.b64encode(sheet.picture.encode("utf-8")).decode("ascii")
    named = f" It is drawn by <code>{escape(sheet.file)}</code>." if sheet.file else ""
    return (
        f'<figure><img alt="{escape(f"The marker {sheet.marker.name}, pieces as they lie")}" '
        f'src="data:image/svg+xml;base64,{data}">'
        f"<figcaption>Seen from above; the cloth runs from left to right. Not to scale.{named}</figcaption></figure>"
    )


def _cut_list(lines: Sequence[CutLine]) -> str:
    rows = [
        f'<tr><td class="tick">{boxes(one.count)}</td><td class="number">{one.count}</td>'
        f"<td><b>{escape(named(one))}</b></td><td>{escape(one.hand)}</td><td>{escape(one.garment)}</td><td>{escape(one.size)}</td>"
        f"<td>{escape(fabric_of(one))}</td></tr>"
        for one in lines
    ]
    heads = _heads("tick", "#how many", "piece", "hand", "garment", "for", "fabric")
    whole = sum(one.count for one in lines)
    foot = f'<tfoot><tr><td></td><td class="number">{whole}</td><td colspan="5">in all</td></tr></tfoot>'
    key = "<p>Pieces too small for their names carry the number in front of the name.</p>\n"
    said = key if any(one.number for one in lines) else ""
    return f"<h3>Cut list</h3>\n{said}<table>{heads}<tbody>\n{_lines(rows)}\n</tbody>{foot}</table>"


def _recounts(counts: Sequence[Recount]) -> str:
    """What was counted down the page, the files that it was counted in across it."""
    if not counts:
        return ""
    files = tuple(dict.fromkeys(one.file for one in counts))
    found = {(one.what, one.wanted, one.file): one.found for one in counts}
    rows = []
    for what, wanted in dict.fromkeys((one.what, one.wanted) for one in counts):
        cells = (_counted(found.get((what, wanted, file)), wanted) for file in files)
        rows.append(f'<tr><td>{escape(what)}</td><td class="number">{wanted}</td>{"".join(cells)}</tr>')
    names = "".join(f'<th class="number"><code>{escape(file)}</code></th>' for file in files)
    heads = f'<thead><tr><th>counted</th><th class="number">wanted</th>{names}</tr></thead>'
    return f"<h3>Second count, from the written files</h3>\n<table>{heads}<tbody>\n{_lines(rows)}\n</tbody></table>"


def _counted(found: int | None, wanted: int) -> str:
    if found is None:
        return '<td class="number"></td>'
    return f'<td class="number">{found} {_word(found == wanted)}</td>'


def _scale(report: Report) -> str:
    if report.scale is None:
        return ""
    return "<h2>Test square</h2>\n" + "\n".join(f"<p>{escape(words)}</p>" for words in report.scale.words)


def _walks(walks: Sequence[WalkLine], unit: Unit) -> str:
    rows = [
        f"<tr><td>{escape(one.size)}</td><td><b>{escape(one.seam)}</b></td>"
        f'<td class="number">{_stacked(one.first, unit)}</td>'
        f'<td class="number">{_stacked(one.second, unit)}</td><td class="number">{one.difference:+.1f} mm</td>'
        f'<td class="number">{one.ease:+.1f} mm ± {one.within:.1f}</td><td>{_word(one.fits, "LOOK")}</td></tr>'
        for one in walks
    ]
    heads = _heads("for", "seam", "#first side", "#second side", "#difference", "#ease meant", "")
    return (
        f"<h2>Seams walked</h2>\n<p>On the seam line; the difference is the second side less the first.</p>\n"
        f"<table>{heads}<tbody>\n{_lines(rows)}\n</tbody></table>"
        if rows
        else ""
    )


def _drafts(drafts: Sequence[DraftFacts]) -> str:
    parts = [f"<h3>{escape(one.style)}, {escape(one.size)}</h3>\n{_facts(one.facts)}" for one in drafts if one.facts]
    return "<h2>Drafts</h2>\n" + "\n".join(parts) if parts else ""


def _proofs(proofs: Sequence[ProofRow]) -> str:
    rows = [
        f"<tr><td><b>{escape(one.file)}</b><br>{escape(one.kind)}</td><td>{escape(one.compared)}</td>"
        f'<td class="number">{"" if one.deviation is None else f"{one.deviation:.4f} mm"}</td>'
        f"<td>{_word(one.passed)}</td><td><code>{escape(one.sha256)}</code></td></tr>"
        for one in proofs
    ]
    heads = _heads("file", "read back and compared", "#furthest off", "", "SHA-256")
    return f"<h2>Files proven</h2>\n<table>{heads}<tbody>\n{_lines(rows)}\n</tbody></table>" if rows else ""


def _cautions(report: Report) -> str:
    parts = [
        f"<h3>{escape(heading)}</h3>\n<ul>\n{_lines(f'<li>{escape(text)}</li>' for text in texts)}\n</ul>"
        for heading, texts in cautions(report)
        if texts
    ]
    return "<h2>Before you cut</h2>\n" + "\n".join(parts)


def _facts(facts: Facts) -> str:
    rows = (f"<tr><th>{escape(name)}</th><td>{escape(text)}</td></tr>" for name, text in facts)
    return f'<table class="facts"><tbody>\n{_lines(rows)}\n</tbody></table>'


def _heads(*names: str) -> str:
    """Column heads; `#` in front stands for a column of numbers."""
    cells = (f'<th class="number">{one[1:]}</th>' if one.startswith("#") else f"<th>{one}</th>" for one in names)
    return f"<thead><tr>{''.join(cells)}</tr></thead>"


def _word(good: bool, bad: str = "STOP") -> str:
    kind = "note" if good else bad.casefold().replace("look", "warn")
    return f'<span class="word {kind}">{"✓" if good else bad}</span>'


def _stacked(length: float, unit: Unit) -> str:
    """A length in two units, one under the other."""
    return two_units(length, unit).replace(" (", "<br>(")


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}{'' if number == 1 else 's'}"


def _lines(rows: Iterable[str]) -> str:
    return "\n".join(rows)
