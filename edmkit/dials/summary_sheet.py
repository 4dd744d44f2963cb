"""The look of the sheet that hangs at the machine: black on white, read at arm's length."""

STYLE = """
{#- the more positions, the smaller: up to 8, 12, 16, 24 -#}
{%- set size = 0 if most <= 8 else 1 if most <= 12 else 2 if most <= 16 else 3 %}
@page { size: {{ paper }}; margin: 7mm; }
* { box-sizing: border-box; margin: 0; }
html { font: {{ [10.5, 10.5, 10, 9][size] }}pt/1.2 sans-serif; color: #000; background: #fff; }
.sheet { width: {{ width_mm }}mm; display: flex; flex-direction: column;
  gap: {{ [3, 3, 2.5, 2][size] }}mm; }
@media screen { .sheet { margin: 7mm auto; } }
h1 { font-size: 20pt; line-height: 1.1; flex: 1; min-width: 0; overflow-wrap: anywhere; }
.top { display: flex; gap: 5mm; align-items: baseline; border-bottom: 0.7mm solid; }
.day { font-size: 14pt; font-weight: 700; white-space: nowrap; }
.switches { display: flex; gap: 3mm; align-items: flex-start; }
.switches > table { flex: 1 1 0; }
.switches > table.sparks { flex-grow: 1.25; }
table { border-collapse: collapse; border: 0.5mm solid; min-width: 0; }
caption { font-size: 13pt; font-weight: 700; text-align: left; }
th { font-size: 9pt; text-align: left; white-space: nowrap; font-weight: 400;
  border-bottom: 0.5mm solid; }
th, td { padding: 0 1mm; vertical-align: baseline; }
td { border-bottom: 0.25mm solid; height: {{ [11, 9, 7.6, 4.9][size] }}mm; vertical-align: middle; }
td.label { font-size: {{ [18, 15, 13, 10.5][size] }}pt; white-space: nowrap;
  border-right: 0.25mm solid; }
td.long { font-size: 9pt; line-height: 1; white-space: normal; overflow-wrap: anywhere;
  min-width: 15mm; }
td.worth { font-size: {{ [20, 17, 14, 11][size] }}pt; font-weight: 700; white-space: nowrap;
  text-align: right; }
td.spark { font-size: {{ [17, 14, 12, 10][size] }}pt; white-space: nowrap; text-align: right; }
td.band { font-size: 9pt; line-height: 1; }
td.band b { white-space: nowrap; border: 0.3mm solid; padding: 0 0.5mm; }
.voltage { display: flex; flex-wrap: wrap; gap: 1mm 6mm; align-items: baseline;
  border: 0.5mm solid; padding: 1mm 2mm; }
.voltage h2 { font-size: 13pt; }
.voltage .big { font-size: 15pt; font-weight: 700; }
small { font-size: 9pt; font-weight: 400; }
dl { display: grid; grid-template-columns: auto 1fr; gap: 0.5mm 3mm; }
dt { font-size: 9pt; padding-top: 0.35mm; }
dd { min-width: 0; overflow-wrap: anywhere; }
.box { border: 0.5mm solid; padding: 1mm 3mm; overflow-wrap: anywhere; break-inside: avoid; }
.box h2 { font-size: 11pt; }
.box ul { padding-left: 5mm; }
.watch { border-width: 0.8mm; font-weight: 600; }
"""

BODY = """<!DOCTYPE html>
<html lang="en"><head><meta charset="utf-8"><title>{{ title }}</title>
<style>{% include "style" %}</style></head>
<body><main class="sheet">
<header class="top"><h1>{{ title }}</h1><span class="day">{{ day }}</span></header>
<section class="switches">
{%- for s in switches %}
<table{% if s.sparks %} class="sparks"{% endif %}><caption>{{ s.words }}</caption>
<tr><th>at</th><th>{{ s.unit }}{% if s.sparks %}, short{% endif %}</th>
{%- if s.sparks %}<th>in a spark</th>{% endif %}<th>between</th></tr>
{%- for r in s.rows %}
<tr><td class="label{% if r.label|length > 5 %} long{% endif %}">{{ r.label }}</td>
<td class="worth">{{ r.value }}</td>
{%- if s.sparks %}<td class="spark">{{ r.spark }}</td>{% endif %}
<td class="band">{{ r.band }}{% if r.known %} <b>{{ r.known }}</b>{% endif %}</td></tr>{% endfor %}
</table>{% endfor %}
</section>
<section class="voltage"><h2>{{ voltage.words }}</h2>
{%- for r in voltage.rows %}
<span>{{ r.label }} <span class="big">{{ r.value }} V</span> <small>{{ r.band }}
{%- if r.known %}, {{ r.known }}{% endif %}</small></span>{% endfor %}
</section>
<dl>{% for words, value in facts %}<dt>{{ words }}</dt><dd>{{ value }}</dd>{% endfor %}</dl>
{%- if doubts %}
<section class="box"><h2>Not known yet</h2>
<ul>{% for words in doubts %}<li>{{ words }}</li>{% endfor %}</ul></section>{% endif %}
<section class="box watch">
<ul>{% for words in running %}<li>{{ words }}</li>{% endfor %}</ul></section>
</main></body></html>
"""
