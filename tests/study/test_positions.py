import tomllib

import pytest

from femdrum.study.positions import find_lines

AWKWARD = '''\
# a comment = "not a key"
title = "a # in a text, = too"
"quoted key" = 'lit # eral'
a.b."c d" = 1
long = """
first = 1
\\"""" # end
lit = \'\'\'
[not.a.table]
\'\'\'\'\'
list = [
  1, # one
  2,
  [3,
   4],
  { x = 1, y.z = [5, 6] },
]
when = 1979-05-27 07:32:00 # a date with a blank
inline = { p = "}", q = [ "]", "#" ], r = {} }
empty = []

[table] # here
k = -1e3
[table.sub.deep]
k = true
[[many]]
n = 1
[many.inner]
m = 2
[[many.leaf]]
l = 3
[[many.leaf]]
l = 4
[[many]]
n = 5
  [ "spaced" . key ]
  x = """a \\
     b"""   # after
last = 0x1F'''


def paths(value, at=()):
    if at:
        yield at
    items = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, inner in items:
        yield from paths(inner, (*at, key))


@pytest.mark.parametrize("text", [AWKWARD, AWKWARD.replace("\n", "\r\n"), "", "# only\n", "a=1", "a=[[],[{}]]"])
def test_every_key_and_element_that_the_parser_knows_has_a_line(text):
    lines = find_lines(text)
    assert set(lines) == set(paths(tomllib.loads(text)))


def test_lines_are_those_in_which_the_key_or_element_stands():
    lines = find_lines(AWKWARD)
    written = AWKWARD.split("\n")
    for path, sign in {
        ("title",): "title =",
        ("a", "b", "c d"): "a.b",
        ("long",): "long =",
        ("list", 1): "  2,",
        ("list", 2, 1): "   4]",
        ("list", 3, "y", "z", 1): "  { x",
        ("inline", "q", 1): "inline",
        ("table",): "[table]",
        ("table", "k"): "k = -1e3",
        ("table", "sub", "deep", "k"): "k = true",
        ("many", 0, "inner", "m"): "m = 2",
        ("many", 0, "leaf", 1, "l"): "l = 4",
        ("many", 1, "n"): "n = 5",
        ("spaced", "key", "x"): "  x =",
        ("spaced", "key", "last"): "last",
    }.items():
        assert written[lines[path] - 1].startswith(sign), path
