"""The section of tried values on a page of its own, in a real browser without a window."""

import html
import json
import re
import shutil
import subprocess
from importlib.resources import files

import pytest
from jinja2 import Environment, StrictUndefined

from femdrum.report.try_value import section

BROWSER = next((b for b in ("chromium", "chromium-browser", "google-chrome") if shutil.which(b)), None)
needs_browser = pytest.mark.skipif(
    BROWSER is None, reason="no chromium on this machine: the page is not tried in a browser"
)

ASK = """<pre id="told"></pre><script>
const told = { console: [], results: [] };
window.addEventListener("error", (e) => told.console.push(String(e.message)));
for (const wanted of %s) {
  if (wanted !== null) { femdrumTry.reset(); femdrumTry.set(wanted); }
  const shown = Object.fromEntries(["peak", "place", "life", "said", "how", "own"].map((n) => [n, (document.getElementById(`try-${n}`) || {}).textContent]));
  const mark = document.getElementById("try-mark");
  told.results.push({ ...femdrumTry.last, outline: null, shown, address: femdrumTry.address(), hidden: document.getElementById("try-answer").hidden,
    mark: [Number(mark.getAttribute("cx")), -Number(mark.getAttribute("cy"))] });
}
told.wide = document.documentElement.scrollWidth;
told.window = window.innerWidth;
told.unlabelled = [...document.querySelectorAll("#try input, #try select")].filter((n) => !n.labels.length && !n.getAttribute("aria-label")).length;
document.getElementById("told").textContent = JSON.stringify(told);
</script>"""


def page(results, states):
    """The page's text."""
    home = files("femdrum.report")
    maker = Environment(autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True)
    body = maker.from_string(home.joinpath("try.html").read_text(encoding="utf-8")).render(try_value=section(results))
    style = home.joinpath("report.css").read_text(encoding="utf-8")
    return (
        f'<!DOCTYPE html><html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width">'
        f"<title>tried</title><style>{style}</style></head><body>{body}{ASK % json.dumps(states)}</body></html>"
    )


FRAME = """<!DOCTYPE html><html><body><iframe width="%d" height="1500" frameborder="0" srcdoc="%s"></iframe><script>
const frame = document.querySelector("iframe");
frame.addEventListener("load", () => document.body.append(frame.contentDocument.getElementById("told")));
</script></body></html>"""


def tried(results, states, folder, address="", width=None):
    """What the page shows in each state (None: as it opens), and what it says of itself; in a frame of a width, px, if asked."""
    path = folder / "tried.html"
    text = page(results, states)
    # windows of this browser are never narrower than 500 px
    path.write_text(text if width is None else FRAME % (width, html.escape(text)), encoding="utf-8")
    done = subprocess.run(
        [BROWSER, "--headless", "--no-sandbox", "--disable-gpu", f"--user-data-dir={folder / 'browser'}", "--enable-logging=stderr",
         "--window-size=1100,900", "--virtual-time-budget=600000", "--dump-dom", f"file://{path}{address}"],
        capture_output=True, text=True, timeout=300, check=True,
    )  # fmt: skip
    told = json.loads(html.unescape(re.search(r'<pre id="told">(.*?)</pre>', done.stdout, re.S).group(1)))
    told["console"] += [line for line in done.stderr.splitlines() if "CONSOLE" in line]
    return told
