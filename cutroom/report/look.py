"""How the page looks: large type, black on white, nothing told by colour alone."""

STYLE = """
:root { --ink: #16181d; --faint: #5d6470; --line: #b9bec7; --chalk: #1f4e8c; }
* { box-sizing: border-box; }
html { background: #e9ebee; }
body { margin: 0 auto; max-width: 64rem; padding: 2rem 2.5rem 3rem; background: #fff; color: var(--ink);
  font: 1.125rem/1.5 "DejaVu Sans", Verdana, "Noto Sans", sans-serif; }
h1 { font-size: 2.5rem; line-height: 1.15; margin: 0; }
h2 { font-size: 1.75rem; line-height: 1.2; margin: 3rem 0 1rem; padding-top: .75rem; border-top: 4px solid var(--ink); }
h3 { font-size: 1.25rem; margin: 1.75rem 0 .5rem; }
p { margin: .5rem 0; }
.thread { border: 0; border-top: 3px dashed var(--chalk); margin: 1rem 0 1.5rem; }
.verdict { display: flex; gap: 1.25rem; align-items: center; border: 4px solid var(--ink); padding: .75rem 1.25rem;
  font-size: 1.25rem; }
.verdict strong { font-size: 2.25rem; letter-spacing: .04em; white-space: nowrap; }
.verdict.stop { background: var(--ink); color: #fff; }
.verdict.warn { border-style: dashed; }
.big { display: grid; grid-template-columns: repeat(auto-fit, minmax(15rem, 1fr)); gap: 1rem; margin: 1rem 0; }
.big div { border-left: 6px solid var(--ink); padding-left: .75rem; }
.big b { display: block; font-size: 1.5rem; line-height: 1.2; }
.big span { color: var(--faint); }
table { width: 100%; border-collapse: collapse; margin: .5rem 0 1rem; }
th, td { text-align: left; vertical-align: top; padding: .35rem .75rem .35rem 0; border-bottom: 1px solid var(--line); }
thead th { border-bottom: 3px solid var(--ink); }
th.number, td.number { text-align: right; white-space: nowrap; font-variant-numeric: tabular-nums; }
table.facts th { width: 12rem; font-weight: 600; }
.tick { font-size: 1.5rem; line-height: 1.2; letter-spacing: .1em; }
tfoot td { font-weight: 700; border-bottom: 0; border-top: 3px solid var(--ink); }
figure { margin: 1rem 0; }
figure img { display: block; width: auto; height: auto; max-width: 100%; max-height: 34rem;
  border: 1px solid var(--line); }
figcaption { color: var(--faint); font-size: 1rem; }
.word { display: inline-block; min-width: 4.5rem; padding: 0 .4rem; border: 2px solid var(--ink); font-weight: 700;
  text-align: center; }
.word.stop { background: var(--ink); color: #fff; }
.word.warn { border-style: dashed; }
.word.note { border-color: transparent; }
td.number .word { min-width: 1.5rem; }
th.number code { white-space: normal; }
.fix { color: var(--faint); }
code { font: .875rem "DejaVu Sans Mono", monospace; overflow-wrap: anywhere; }
ul { margin: .25rem 0 1rem; padding-left: 1.5rem; }
li { margin: .25rem 0; }
.sign { display: grid; grid-template-columns: 2fr 1fr 1fr; gap: 2rem; margin-top: 2.5rem; }
.sign span { border-top: 2px solid var(--ink); padding-top: .25rem; color: var(--faint); font-size: 1rem; }
footer { margin-top: 2.5rem; color: var(--faint); font-size: 1rem; }
@media (max-width: 40rem) { body { padding: 1rem; } table.facts th { width: 8rem; } }
@page { size: auto; margin: 14mm; }
@media print {
  :root { --faint: #333; --line: #888; --chalk: #000; }
  html { background: none; }
  body { max-width: none; padding: 0; font-size: 11.5pt; }
  h1 { font-size: 26pt; }
  h2 { font-size: 18pt; break-after: avoid; }
  h3 { break-after: avoid; }
  section.marker + section.marker { break-before: page; }
  h2 { margin-top: 1.5rem; }
  .big { grid-template-columns: repeat(3, 1fr); }
  figure img { max-height: 95mm; }
  tfoot { display: table-row-group; }
  tr, figure, .verdict, .big div, li { break-inside: avoid; }
  .verdict.stop, .word.stop { -webkit-print-color-adjust: exact; print-color-adjust: exact; }
}
"""
