"""A plot that changes in place, its browser code fetched over HTTP rather than sent by Python."""

import os
from copy import deepcopy

import plotly
import plotly.graph_objects as go
from plotly.basewidget import BaseFigureWidget

# Keep this import and this line before the class: measured in Chromium, first curves came in
# about 4 s with them and in 6 to 7 s without; the cause was not found.
_BUNDLE = str(BaseFigureWidget._esm)

# anywidget takes no address without a host, and Python does not know the port: this stands in
# for plotly's own 5 MB module and fetches it from the server that the page came from.
_STAND_IN = """
const config = JSON.parse(document.getElementById('jupyter-config-data').textContent);
const file = config.fullLabextensionsUrl + '/edmkit-page/static/plotly-widget-%s.js';
export default async () => {
  let plotly;
  return {
    async initialize(context) {
      plotly = (await import(new URL(file, location.href))).default();
      await plotly.initialize(context);
    },
    async render(context) {
      const end = await plotly.render(context);
      // Drawn before it has a place, the plot takes a width of its own; plotly listens to the
      // window only.
      const fit = new ResizeObserver(() => window.dispatchEvent(new Event('resize')));
      fit.observe(context.el);
      return () => { fit.disconnect(); end?.(); };
    },
  };
};
"""


class LiveFigure(go.FigureWidget):
    """A plotly figure on a page, changed in place by ``batch_update``.

    Notes
    -----
    On a page that ``edmkit`` opened, the browser fetches the plot code (5 MB) itself. Anywhere
    else, such as a plain JupyterLab, plotly's own slower way is used. Plotly's row of buttons is
    left out: one of them sends the plot to a server outside.
    """

    if os.environ.get("EDMKIT_PAGE"):
        _esm = _STAND_IN % plotly.__version__

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        # the trait that carries plotly.js's own config
        self._config = {"displayModeBar": False, "responsive": True}

    def get_state(self, key=None, drop_defaults=False):
        """Return what the browser needs; a page that is loaded anew sees the plot as it is now.

        plotly keeps the first plot for that and sends changes only to pages that are open.
        """
        if key is None and "_layout_obj" in self.__dict__:
            data = deepcopy(self._data)
            for trace, seen in zip(data, self._data_defaults, strict=True):
                if "showlegend" in seen:  # plotly drops what the browser calls its default
                    trace.setdefault("showlegend", seen["showlegend"])
            self._trait_values["_widget_data"] = data
            self._trait_values["_widget_layout"] = deepcopy(self._layout_obj._props)
        return super().get_state(key, drop_defaults)
