"""The look of the burn card: one sheet, black on white, for the machine."""

STYLE = """
{#- the more blocks side by side and the shorter the paper, the smaller -#}
{%- set n = [passes|length, 3]|min %}{% set size = n - 1 + (n == 3 and height_mm < 270) %}
@page { size: {{ paper }}; margin: 7mm; }
* { box-sizing: border-box; margin: 0; }
html { font: 10pt/1.2 sans-serif; color: #000; background: #fff; }
.sheet { width: {{ width_mm }}mm; min-height: {{ height_mm }}mm; display: flex;
  flex-direction: column; gap: 2mm; }
@media screen { .sheet { margin: 7mm auto; } }
small, .small { font-size: 9pt; font-weight: 400; }
h1 { font-size: 18pt; line-height: 1.1; flex: 1; min-width: 0; overflow: hidden;
  white-space: nowrap; text-overflow: ellipsis; }
.top { display: flex; gap: 5mm; align-items: baseline; border-bottom: 0.7mm solid; }
.day { font-size: 14pt; font-weight: 700; white-space: nowrap; }
.facts { display: grid; grid-template-columns: auto 1fr auto 1fr; gap: 0.4mm 3mm; }
.facts dt { font-size: 9pt; padding-top: 0.35mm; }
.facts dd { font-weight: 600; min-width: 0; overflow-wrap: anywhere; }
.facts .whole { grid-column: span 3; }
.line { display: inline-block; width: 22mm; border-bottom: 0.3mm solid; }
.passes { display: grid; grid-template-columns: repeat({{ n }}, minmax(0, 1fr)); gap: 2.5mm; }
.pass { border: 0.5mm solid; overflow: hidden; break-inside: avoid; display: flex; flex-wrap: wrap;
  align-content: flex-start; }
.pass > * { border: 0 solid; border-width: 0.25mm 0 0 0.25mm; margin-left: -0.25mm;
  padding: 1mm 2mm; flex: 1 1 {{ [0, 58, 50][n - 1] }}mm; }
{% if n == 2 %}.pass > .stop, .pass > .notes { flex-basis: 40mm; }
.pass > .expect { flex-basis: 100%; }{% endif %}
.pass > h2 { font-size: 14pt; line-height: 1.1; flex-basis: 100%; border-top: 0; }
.make { display: flex; gap: 2mm; justify-content: space-between; align-items: flex-start; }
.make svg { flex: none; height: auto; {% if n > 1 %}width: {{ [0, 30, 23, 22][size] }}mm;{% endif %}
  max-height: {{ [80, 34, 32, 28][size] }}mm; }
.make svg [stroke^="#"] { stroke: #000; }
.make svg text { fill: #000; }
{% if n == 1 %}.pass { display: grid; grid-template-columns: 1fr 1fr; align-content: start; }
.pass > h2 { grid-column: span 2; }
.pass > .make { grid-row: 2 / span 3; flex-direction: column; justify-content: flex-start; }
.pass > .notes { grid-area: 5 / 1; }
.pass > .dials, .pass > .stop, .pass > .ramps, .pass > .expect { grid-column: 2; }{% endif %}
.big { font-size: {{ [24, 18, 15, 14][size] }}pt; font-weight: 700; line-height: 1.05; }
.big, .rows b { white-space: nowrap; }
.dials { display: grid; grid-template-columns: 1fr 1fr; gap: 0.8mm 2mm; align-content: start; }
.dials b { font-size: {{ [31, 24, 20, 17][size] }}pt; line-height: 1; }
.dials b.long { font-size: {{ [20, 16, 14, 12][size] }}pt; overflow-wrap: anywhere; }
.dials .wide { grid-column: span 2; }
.dials .wide b { font-size: {{ [18, 13, 13, 12][size] }}pt; }
.pass > .stop { border-top-width: 0.8mm; border-bottom-width: 0.8mm; }
.stop .big { font-size: {{ [36, 24, 22, 19][size] }}pt; }
.stop .trip b { font-size: {{ [16, 13, 11.5, 11][size] }}pt; }
.pass > .notes { font-size: {{ [11.5, 9.5, 9, 9][size] }}pt; }
.rows { display: grid; grid-template-columns: auto 1fr; gap: 0.3mm 2mm; align-items: baseline; }
.rows dt { font-size: 9pt; }
.rows dd b { font-size: {{ [14, 12, 11.5, 10.5][size] }}pt; }
.ramp { display: flex; flex-wrap: wrap; gap: 0.3mm 5mm; align-items: baseline; }
.ramp b { font-size: {{ [17, 16, 13, 11.5][size] }}pt; }
.watch { border: 0.8mm solid; padding: 1mm 3mm; }
.watch ul { padding-left: 5mm; font-size: 10.5pt; font-weight: 600; }
.got { flex: 1; display: grid; border: 0.5mm solid; border-width: 0.5mm 0.25mm 0.25mm 0.5mm;
  grid-template-columns: 15fr 11fr 26fr 20fr 20fr 20fr 20fr 20fr 20fr 34fr;
  grid-template-rows: auto repeat({{ boxes|length }}, minmax(8mm, 1fr)); }
.got > * { border: 0 solid; border-width: 0 0.25mm 0.25mm 0; padding: 0.4mm 1mm; min-width: 0;
  font-size: 9pt; line-height: 1.1; }
.got > .head { font-weight: 700; border-bottom-width: 0.5mm; }
.got > .last { border-bottom-width: 0.5mm; }
"""

BODY = """<!DOCTYPE html>
<html lang="en"><head><meta charset="utf-8"><title>{{ title }}</title>
<style>{% include "style" %}</style></head>
<body><main class="sheet">
<header class="top"><h1>{{ title }}</h1><span>Part no. <i class="line"></i></span>
<span class="day">{{ day }}</span></header>
<dl class="facts">
{%- for words, value in facts %}<dt>{{ words }}</dt>
<dd{% if words in ("Hole", "Level") %} class="whole"{% endif %}>{{ value }}</dd>{% endfor -%}
<dt>Ohms, part to table</dt><dd><i class="line"></i></dd></dl>
<section class="passes">
{%- for p in passes %}
<article class="pass"><h2>{{ p.title }}</h2>
<div class="make"><div><span class="small">Electrode: {{ p.material }}</span>
{%- for words, value in p.readings %}
<div class="small">{{ words }}</div><div class="big">{{ value }}</div>{% endfor %}
</div>{{ p.picture }}</div>
<div class="dials">
{%- for words, value, label in p.dials %}
<div><div class="small">{{ words }}</div>
<b{% if label|length > 6 %} class="long"{% endif %}>{{ label }}</b>
<small>{{ value }}</small></div>{% endfor %}
<div class="wide"><span class="small">Polarity</span> <b>{{ p.polarity }}</b></div></div>
<div class="stop"><span class="small">Set stop</span> <span class="big">{{ p.stop }}</span>
<div class="small trip">dial then shows <b>{{ p.dial }}</b></div>
{%- for words in p.stop_notes %}<div class="small">{{ words }}</div>{% endfor %}</div>
<div class="notes">{% for words in p.notes %}<div>{{ words }}</div>{% endfor %}</div>
{%- if p.ramp %}
<div class="ramps"><div class="small">Current, by depth below first touch</div><div class="ramp">
{%- for words, label in p.ramp %}<span>{{ words }} <b>{{ label }}</b></span>
{% endfor %}</div></div>{% endif %}
<div class="expect"><dl class="rows">
{%- for words, value, band in p.expect %}<dt>{{ words }}</dt>
<dd><b>{{ value }}</b> <small>{{ band }}</small></dd>{% endfor %}</dl></div>
</article>{% endfor %}
</section>
<section class="watch"><ul>{% for words in cautions %}<li>{{ words }}</li>{% endfor %}</ul>
<p class="small">Reminders, not a safety case: the machine's own manual, local codes and licensed
practice come before this card.</p></section>
<section class="got">
{%- for words in columns %}<div class="head">{{ words }}</div>{% endfor %}
{%- for row in boxes %}{% set last = loop.index % (passes|length) == 0 %}
{%- for words in row %}<div{% if last %} class="last"{% endif %}>{{ words }}</div>{% endfor %}
{%- endfor %}</section>
</main></body></html>
"""
