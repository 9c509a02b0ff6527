"""The report as PDF: A4, all chapters, all figures, and one clear message where its library is missing."""

import re
import sys
import zlib

import pytest

from femdrum import report
from femdrum.cli import main
from femdrum.errors import MissingPart
from femdrum.report import page, page_pdf


def need_layout():
    try:
        page_pdf._layout()
    except MissingPart as reason:
        pytest.skip(str(reason))


def objects(pdf):
    """The file with its packed streams laid open, so that pages can be counted."""
    out = [pdf]
    for found in re.finditer(rb"stream\r?\n(.*?)endstream", pdf, flags=re.S):
        try:
            out.append(zlib.decompress(found[1]))
        except zlib.error:
            continue
    return b"\n".join(out)


@pytest.fixture(scope="module")
def paper(plate):
    need_layout()
    report.write(plate.folder, pdf=True)
    return (plate.folder / "report.pdf").read_bytes()


def test_it_is_a4_and_carries_the_chapters(paper, plate):
    assert paper.startswith(b"%PDF-")
    whole = objects(paper)
    boxes = {
        tuple(round(float(v)) for v in box.split()) for box in re.findall(rb"/MediaBox\s*\[([^\]]*)\]", whole)
    }  # fmt: skip
    assert boxes == {(0, 0, 595, 842)}
    pages = len(re.findall(rb"/Type\s*/Page\b", whole))
    assert 8 <= pages <= 60
    for title in (b"Answer", b"Convergence", b"Not checked", b"Cautions", b"Review"):
        assert b"(" + title + b")" in whole  # bookmarks


@pytest.fixture
def no_figures(monkeypatch):
    monkeypatch.setattr(page, "pictures", lambda results, lines: iter(()))


def test_nothing_that_only_scripts_show_is_in_it(plate, no_figures):
    content = page.report_content(plate)
    text = page.report_text(content, paper=True)
    assert "<script>" not in text
    assert "can be read off" not in text
    assert "<script>" in page.report_text(content)


def test_a_missing_library_is_said_once_and_the_page_stands(plate, no_figures, monkeypatch, capsys):
    monkeypatch.setitem(sys.modules, "weasyprint", None)  # importing it now raises ModuleNotFoundError
    with pytest.raises(MissingPart, match=r"pip install 'femdrum\[pdf\]'"):
        page_pdf.set_pages("<p>x</p>", plate.folder / "x.pdf")
    (plate.folder / "report.html").unlink(missing_ok=True)
    assert main(["report", str(plate.folder), "--pdf"]) == 1
    told = capsys.readouterr()
    assert "no PDF: a PDF needs the package" in told.err
    assert told.out.strip() == str(plate.folder / "report.html")
    assert (plate.folder / "report.html").is_file()


def test_a_missing_system_library_is_said_with_its_line(monkeypatch, tmp_path):
    class Broken:
        def find_spec(self, name, *_):
            if name == "weasyprint":
                raise OSError("cannot load library 'libpango-1.0-0'")

    monkeypatch.delitem(sys.modules, "weasyprint", raising=False)
    monkeypatch.setattr(sys, "meta_path", [Broken(), *sys.meta_path])
    with pytest.raises(MissingPart, match="apt-get install libpango"):
        page_pdf.set_pages("<p>x</p>", tmp_path / "x.pdf")


def test_the_command_writes_both(plate, no_figures, capsys):
    need_layout()
    assert main(["report", str(plate.folder), "--pdf"]) == 0
    assert capsys.readouterr().out.split() == [str(plate.folder / "report.html"), str(plate.folder / "report.pdf")]
