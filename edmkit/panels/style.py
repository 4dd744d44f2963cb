"""How the pages look: large dark letters on white, nothing that moves."""

CSS = """<style>
.edm-page { max-width: 1480px; color: #1a1a1a; }
.edm-page .widget-label { font-size: 15px; }
.edm-group { border: 1px solid #b8b8b8; border-radius: 4px; padding: 6px 10px 8px;
  overflow: hidden; }
.edm-group h3, .edm-head { font-size: 17px; font-weight: 600; margin: 0 0 6px; line-height: 1.25; }
.edm-label, .edm-unit { font-size: 15px; line-height: 1.2; display: block; }
.edm-value { font-size: 16px; font-weight: 600; line-height: 1.2; display: block; }
.edm-page .widget-gridbox, .edm-page .widget-vbox:not(.edm-group) { overflow: visible; }
.edm-page a { color: #00518a; text-decoration: underline; }
.edm-page .widget-gridbox > *, .edm-page .widget-vbox > * { min-width: 0; flex-shrink: 0; }
.edm-page .jupyter-widget-Collapse-contents, .edm-page .lm-Accordion-contents { padding: 6px; }
.edm-note { font-size: 13px; line-height: 1.35; color: #444; }
.edm-refusal { font-size: 14px; line-height: 1.35; font-weight: 600; color: #8a1500; }
.edm-refusal::before { content: "Check this: "; }
.edm-page button.edm-step { font-size: 24px; font-weight: 600; padding: 0; line-height: 1; }
.edm-number input { font-size: 16px; height: 32px; }
.edm-tiles { display: grid; grid-template-columns: 1fr 1fr; gap: 8px 14px; }
.edm-tile { border-top: 2px solid #1a1a1a; padding-top: 3px; }
.edm-title { font-size: 14px; }
.edm-big { font-size: 27px; font-weight: 700; line-height: 1.2; }
.edm-big small { font-size: 15px; font-weight: 400; }
.edm-first .edm-big { font-size: 40px; line-height: 1.05; }
.edm-band { font-size: 14px; line-height: 1.3; color: #333; }
.edm-watch { margin: 6px 0 0; padding: 6px 10px 6px 28px; border-left: 5px solid #d55e00;
  background: #f6f6f6; font-size: 14px; line-height: 1.35; }
.edm-pinned { border-left: 5px solid #0072b2; background: #f6f6f6; padding: 6px 10px;
  font-size: 14px; line-height: 1.4; margin-top: 6px; }
.edm-pinned ul { margin: 2px 0 0; padding-left: 20px; }
.edm-table { font-size: 14px; line-height: 1.35; border-collapse: collapse; width: 100%; }
.edm-table td { padding: 2px 10px 2px 0; border-bottom: 1px solid #e3e3e3; text-align: left; }
.edm-page button.edm-find { font-size: 17px; font-weight: 600; border: 2px solid #1a1a1a;
  background: #fff; min-height: 42px; }
.edm-waiting .edm-tiles, .edm-waiting .edm-watch, .edm-waiting .edm-pinned,
.edm-waiting .edm-table { opacity: 0.35; }
.edm-job { text-align: center; }
.edm-page .widget-html-content { line-height: 1.3; }
.edm-page .jupyter-button { font-size: 15px; height: auto; min-height: 34px; line-height: 1.2; }
/* JupyterLab lays a strip that folds the output over the left 64 px: it would catch the clicks. */
.jp-OutputArea:has(.edm-page) > .jp-OutputArea-promptOverlay { display: none !important; }
</style>"""

# What page 03 adds: passes as blocks side by side, each with its drawing.
PLAN_CSS = """<style>
.edm-blocks { display: grid; grid-template-columns: repeat(auto-fit, minmax(min(330px, 100%), 1fr));
  gap: 10px 14px; margin: 10px 0; }
.edm-block { border: 2px solid #1a1a1a; border-radius: 4px; padding: 6px 10px 8px; }
.edm-block h3 { font-size: 17px; font-weight: 600; margin: 0 0 6px; }
.edm-block-top { display: grid; grid-template-columns: minmax(120px, 160px) 1fr; gap: 0 12px;
  align-items: start; }
.edm-block-top svg { max-width: 100%; height: auto; }
.edm-block ul { margin: 6px 0 0; padding-left: 20px; }
.edm-waiting .edm-blocks { opacity: 0.35; }
.edm-page .edm-tick label { font-size: 15px; }
.edm-page svg text { font-family: sans-serif; }
</style>"""

# What page 05 adds: the book as a table that may be wider than the page.
BOOK_CSS = """<style>
.edm-page .widget-html > .widget-html-content { min-width: 0; }
.edm-scroll { overflow-x: auto; max-height: 420px; overflow-y: auto; }
.edm-book th { text-align: left; font-size: 13px; padding: 2px 10px 2px 0;
  border-bottom: 2px solid #1a1a1a; position: sticky; top: 0; background: #fff; }
.edm-book td { white-space: nowrap; vertical-align: top; }
.edm-book td:nth-child(2), .edm-book td:nth-child(10) { white-space: normal; min-width: 130px; }
.edm-doubted td { background: #fbeee6; font-weight: 600; }
.edm-aside td { color: #555; font-style: italic; }
.edm-slopes th { text-align: left; font-size: 13px; padding-right: 10px; }
.edm-one { grid-template-columns: 1fr; }
.edm-one .edm-big small { font-size: 14px; }
.edm-four { grid-template-columns: repeat(auto-fit, minmax(150px, 1fr)); }
</style>"""
