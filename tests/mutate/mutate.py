#!/usr/bin/python3
"""Puts one bug at a time into a copy of the program and tells which the tests let pass.

    tests/mutate/mutate.py ROOM [--sample N] [--seed S] [--only TEXT] [--list] [--keep DIR]
    tests/mutate/mutate.py --self-test

A room is a part of the program with the tests that answer for it:

    core    server/core, C          store   server/store, C
    sql     SQL of server/store     writes  conditions of UPDATE and DELETE there
    web     server/web, C           routes  callers and flags of the route table

Bugs are small: an operator turned round, a comparison off by one, a condition or a call
left out, a constant changed, a term of a WHERE that always holds, a route open to more.
The sample is drawn by the seed, so that a run can be repeated; without one all are tried.
Each is built incrementally in a scratch copy of the files that git knows, with --keep in
a folder that a later run goes on with. SQL needs no building: the texts that the tests
prepare are listed first, and one is changed on its way to SQLite; what no test prepares
is not among them. Tests run one after the other until one fails.

A line for each bug says "caught" with the test, "survived", or "same": the compiler made
the same code of it, so that it is no bug. What does not compile is left out. The last
lines are the rates. Whether a survivor can be told from the program at all is for a
person to judge. It takes hours for all of a room: by hand, not part of tests/run.sh.
"""
import argparse
import pathlib
import random
import re
import shutil
import subprocess
import sys
import tempfile
import time

TOP = pathlib.Path(__file__).resolve().parents[2]

# Files, the function that finds bugs in them, folders of tests, the test to begin with.
ROOMS = {
    "core": ("server/core/*.c", "c_bugs", ["core"], []),
    "store": ("server/store/*.c", "c_bugs", ["store", "fault"], ["writes"]),
    "sql": (None, "sql_bugs", ["store"], ["writes"]),
    "writes": (None, "write_bugs", ["store"], ["writes"]),
    "web": ("server/web/**/*.c", "c_bugs", ["web", "http"], []),
    "routes": ("server/web/**/routes.inc", "route_bugs", ["web", "http"], ["dispatch", "route"]),
}

# ---- finding places ---------------------------------------------------------

PIECES = re.compile(
    r"""(?P<comment>/\*.*?\*/|//[^\n]*)|(?P<string>"(?:\\.|[^"\\\n])*")|(?P<char>'(?:\\.|[^'\\\n])*')""",
    re.S,
)


def blanked(text, keep_strings=False):
    """The text with comments, and unless asked strings, as blanks; places stay."""

    def blank(match):
        if match.group("string") and keep_strings:
            return match.group()
        return re.sub(r"[^\n]", " ", match.group())

    return PIECES.sub(blank, text)


def line_of(text, at):
    return text.count("\n", 0, at) + 1


class Bug:
    """A text with edits [(begin, end, new)] to make in it."""

    def __init__(self, edits, what):
        self.edits = sorted(edits)
        self.what = what

    def apply(self, text):
        for begin, end, new in reversed(self.edits):
            text = text[:begin] + new + text[end:]
        return text


OPERATORS = [
    (r"(?<![=!<>])==(?!=)", "!="), (r"!=", "=="),
    (r"(?<![<-])<(?![<=])", "<="), (r"<=", "<"),
    (r"(?<![->])>(?![>=])", ">="), (r">=", ">"),
    (r"&&", "||"), (r"\|\|", "&&"),
    (r"(?<=[\w)\]] )\+(?= )", "-"), (r"(?<=[\w)\]] )-(?= )", "+"), (r"(?<=[\w)\]] )\*(?= [\w(])", "/"),
    (r"\+=", "-="), (r"(?<!-)-=", "+="),
    (r"\bcontinue\b", "break"), (r"\bbreak\b", "continue"),
    (r"!(?=[\w(*])(?!=)", ""), (r"\btrue\b", "false"), (r"\bfalse\b", "true"),
    (r"(?<![\w.])(\d+)(?=[\s,;)\]}:])(?![.\w])", None),
]


def c_bugs(text):
    code = blanked(text)
    # Contracts, includes and lines of the preprocessor are no behaviour.
    code = re.sub(r"(?m)^#.*(?:\\\n.*)*$|\b(?:static_)?assert\([^;]*;", lambda m: re.sub(r"[^\n]", " ", m.group()), code)
    bugs = []
    for pattern, new in OPERATORS:
        for match in re.finditer(pattern, code):
            old = match.group()
            put = str(int(old) + 1) if new is None else new
            bugs.append(Bug([(match.start(), match.end(), put)], f"{old} becomes {put or 'nothing'}"))
    for match in re.finditer(r"\b(?:if|while) (\()", code):
        end = closing(code, match.start(1))
        if end and "for" != match.group()[:3]:
            inner = text[match.start(1) : end + 1]
            short = " ".join(inner.split())
            if match.group().startswith("if"):
                bugs.append(Bug([(match.start(1), end + 1, f"(0 && {inner})")], f"never: if {short}"))
                bugs.append(Bug([(match.start(1), end + 1, f"(1 || {inner})")], f"always: if {short}"))
    for match in re.finditer(r"(?m)^\t+(?!return|if|while|for|switch|else|assert)[\w>.-]+\([^;{}]*\);$", code):
        call = text[match.start() : match.end()]
        bugs.append(Bug([(match.start(), match.end(), ";")], "left out: " + " ".join(call.split())))
    return bugs


def closing(code, at):
    depth = 0
    for i in range(at, len(code)):
        depth += (code[i] == "(") - (code[i] == ")")
        if depth == 0:
            return i
    return None


# ---- SQL ---------------------------------------------------------------------


CLAUSE_ENDS = re.compile(r"\b(ORDER|GROUP|LIMIT|UNION|RETURNING|WHERE|ON|JOIN|LEFT|FROM|SET|DO|HAVING)\b")


def terms(sql):
    """Spans of the terms of every WHERE and ON, at whatever depth."""
    for match in re.finditer(r"\b(WHERE|ON)\b(?! CONFLICT)", sql):
        begin, depth, between, case = match.end(), 0, False, 0
        i = begin
        while i <= len(sql):
            word = re.match(r"\b(AND|OR|BETWEEN|CASE|END)\b", sql[i:]) if depth == 0 else None
            ends = i == len(sql) or (depth == 0 and (sql[i] == ")" or CLAUSE_ENDS.match(sql, i)))
            case += bool(word and word[1] == "CASE") - bool(word and word[1] == "END")
            if word and word[1] == "BETWEEN":
                between = True
            if ends or (word and word[1] == "AND" and case == 0):
                if between and not ends:
                    between = False
                else:
                    term = sql[begin:i]
                    if term.strip():
                        yield begin + len(term) - len(term.lstrip()), begin + len(term.rstrip())
                    begin = i + 3
                if ends:
                    break
            if word:
                i += len(word[1])
                continue
            depth += (sql[i] == "(") - (sql[i] == ")")
            i += 1


def write_bugs(sql):
    """A term that always holds; its parameters stay, or binding them would fail."""
    if re.search(r"\b(UPDATE|DELETE)\b", sql):
        for begin, end in terms(sql):
            yield Bug([(begin, begin, "("), (end, end, " OR 1)")], "always holds: " + sql[begin:end])


SQL_OPERATORS = [
    (r"(?<![<>])=", "<>"), (r"<>", "="), (r"<(?![>=])", "<="), (r"<=", "<"), (r"(?<!<)>(?!=)", ">="), (r">=", ">"),
    (r"\bAND\b", "OR"), (r"\bOR\b(?! IGNORE)", "AND"), (r"\bNOT\b ", ""), (r" DESC\b", ""), (r" \+ ", " - "), (r" - ", " + "),
    (r"\bIS NOT\b", "IS"), (r"\bIS\b(?! NOT)", "IS NOT"), (r"\bDISTINCT ", ""), (r"\bLEFT JOIN\b", "JOIN"),
    (r"(?<![?\w])\d+\b", None), (r"\bmax\b", "min"), (r"\bmin\b", "max"),
]


def sql_bugs(sql):
    for begin, end in terms(sql):
        yield Bug([(begin, begin, "("), (end, end, " OR 1)")], "always holds: " + sql[begin:end])
    for pattern, new in SQL_OPERATORS:
        for match in re.finditer(pattern, re.sub(r"'[^']*'", lambda m: "'" + "x" * (len(m[0]) - 2) + "'", sql)):
            old = match.group()
            put = str(int(old) + 1) if new is None else new
            around = sql[max(0, match.start() - 25) : match.end() + 25]
            yield Bug([(*match.span(), put)], f"{old.strip()} becomes {put.strip() or 'nothing'} in ...{around}...")


# Loaded before SQLite: lists what is prepared, or changes one text of it.
SHIM = r"""
#define _GNU_SOURCE
#include <dlfcn.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
typedef int prepare_fn(void *, const char *, int, unsigned, void **, const char **);
static char *text_of(const char *name)
{
	const char *path = getenv(name);
	FILE *file = path ? fopen(path, "rb") : NULL;
	static char texts[2][65536];
	static int n;
	char *text = texts[n++ % 2];
	if (!file)
		return NULL;
	text[fread(text, 1, sizeof texts[0] - 1, file)] = 0;
	fclose(file);
	return text;
}
int sqlite3_prepare_v3(void *db, const char *sql, int n, unsigned flags, void **out, const char **tail)
{
	static prepare_fn *real;
	static char *from, *to;
	const char *list = getenv("MUTATE_LIST");
	int status;
	if (!real) {
		*(void **)&real = dlsym(RTLD_NEXT, "sqlite3_prepare_v3");
		from = text_of("MUTATE_FROM");
		to = text_of("MUTATE_TO");
	}
	if (list) {
		FILE *file = fopen(list, "ab");
		fwrite(sql, 1, strlen(sql) + 1, file);
		fclose(file);
	}
	if (!from || !to || strcmp(sql, from) != 0)
		return real(db, sql, n, flags, out, tail);
	status = real(db, to, -1, flags, out, tail);
	if (status == 1) {
		FILE *file = fopen(getenv("MUTATE_BAD"), "wb");
		fclose(file);
	}
	return status;
}
"""


class Shim:
    def __init__(self, copy):
        self.copy = copy
        self.folder = copy.top / "shim"
        self.folder.mkdir(exist_ok=True)
        (self.folder / "shim.c").write_text(SHIM)
        good, said = run(["gcc", "-shared", "-fPIC", "-O1", "-o", "shim.so", "shim.c", "-ldl"], self.folder)
        if not good:
            sys.exit(said)

    def run(self, test, seconds=600, **files):
        env = {f"MUTATE_{name.upper()}": str(self.folder / name) for name in files}
        for name, text in files.items():
            if text is not None:
                (self.folder / name).write_text(text)
        return run(["env", f"LD_PRELOAD={self.folder / 'shim.so'}", *(f"{k}={v}" for k, v in env.items()), str(self.copy.build / f"test_{test}")], self.copy.top, seconds)[0]

    def listed(self, tests):
        """{text: names of tests that prepare it}"""
        found = {}
        for test in tests:
            (self.folder / "list").unlink(missing_ok=True)
            if not self.run(test, list=None):
                sys.exit(f"test_{test} fails without any bug")
            for sql in (self.folder / "list").read_text().split("\0") if (self.folder / "list").exists() else []:
                if sql and "'main'." not in sql:  # FTS5's own
                    found.setdefault(sql, []).append(test)
        return {sql: list(dict.fromkeys(names)) for sql, names in found.items()}

    def try_bug(self, sql, bug, tests):
        bad = self.folder / "bad"
        bad.unlink(missing_ok=True)
        (self.folder / "from").write_text(sql)
        for test in tests:
            good = self.run(test, 120, **{"from": sql, "to": bug.apply(sql), "bad": None})
            if bad.exists():
                return "stillborn", ""
            if not good:
                return "caught", test
        return "survived", ""


def place_of(sql, pieces):
    """Where its longest literal stands in the sources."""
    best = max(pieces, key=lambda p: len(p[1]) if p[1] in sql else 0)
    return best[0] if best[1] in sql else "?"


def literals():
    found = []
    for path in sorted((TOP / "server/store").glob("*.[ch]")):
        text = path.read_text()
        for match in PIECES.finditer(text):
            if match.group("string"):
                found.append((f"{path.relative_to(TOP)}:{line_of(text, match.start())}", match.group()[1:-1]))
    return found


def try_sql(options, finder, tests, first):
    copy = Copy(options.keep.resolve())
    good, said = copy.make(*(f"test_{t}" for t in tests))
    if not good:
        sys.exit(said)
    shim, pieces = Shim(copy), literals()
    prepared = shim.listed(tests)
    bugs = [(place_of(sql, pieces), sql, bug) for sql in prepared for bug in finder(sql)]
    bugs = sample_of(sorted((b for b in bugs if options.only in b[0]), key=lambda b: b[0]), options)
    told = {}
    print(f"{len(prepared)} statements, {len(bugs)} bugs", flush=True)
    for n, (place, sql, bug) in enumerate(bugs, 1):
        end, by = ("", "") if options.list else shim.try_bug(sql, bug, sorted(prepared[sql], key=lambda t: t not in first))
        print(f"{n}/{len(bugs)} {end:9} {place}: {bug.what}{' (' + by + ')' if by else ''}", flush=True)
        counts = told.setdefault("server/store", {})
        counts[end] = counts.get(end, 0) + 1
    return told


# ---- routes ------------------------------------------------------------------


LOWER = {
    "CALL_ADMIN": "CALL_STEWARD", "CALL_STEWARD": "CALL_MEMBER", "CALL_KIT_OWNER": "CALL_MEMBER",
    "CALL_MEMBER": "CALL_ANYONE", "CALL_GUEST": "CALL_ANYONE", "CALL_TOKEN_OWNER": "CALL_TOKEN",
    "CALL_TOKEN": "CALL_ANY_TOKEN", "CALL_ANY_TOKEN": "CALL_ANYONE",
}


def route_bugs(text):
    """Every caller one lower, every flag left out."""
    code, bugs = blanked(text), []
    for row in re.finditer(r"(?m)^\s+\{[^{}]*(?:\{[^{}]*\}[^{}]*)*\},?", code):
        for word in re.finditer(r"\b[A-Z][A-Z_]+\b", row.group()):
            begin, end = row.start() + word.start(), row.start() + word.end()
            said = " ".join(text[row.start() : row.end()].split())
            if word.group() in LOWER:
                bugs.append(Bug([(begin, end, LOWER[word.group()])], f"{said} for {LOWER[word.group()]}"))
            elif word.group().startswith("R_"):
                bugs.append(Bug([(begin, end, "0")], f"{said} without {word.group()}"))
    return bugs


# ---- trying -------------------------------------------------------------------


def run(command, cwd, seconds=600):
    try:
        done = subprocess.run(command, cwd=cwd, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, timeout=seconds, check=False)
        return done.returncode == 0, done.stdout.decode(errors="replace")
    except subprocess.TimeoutExpired:
        return False, "took too long"


def tests_of(folders):
    names = []
    for folder in folders:
        listing = (TOP / "tests" / folder / "CMakeLists.txt").read_text()
        names += re.findall(r"^fairlead_test\((\w+)", listing, re.M)
    return names


class Copy:
    """The scratch copy with its build."""

    def __init__(self, folder):
        self.top = folder
        self.build = folder / "build"
        files = subprocess.run(["git", "ls-files", "-z", "-co", "--exclude-standard"], cwd=TOP, stdout=subprocess.PIPE, check=True).stdout.split(b"\0")
        for name in filter(None, map(bytes.decode, files)):
            source, to = TOP / name, folder / name
            if source.is_file() and (not to.exists() or source.read_bytes() != to.read_bytes()):
                to.parent.mkdir(parents=True, exist_ok=True)
                shutil.copy2(source, to)
        fast = ["-DCMAKE_BUILD_TYPE=Debug", "-DCMAKE_C_FLAGS_DEBUG=-O1", "-DFAIRLEAD_WERROR=OFF"]
        if shutil.which("ccache"):
            fast.append("-DCMAKE_C_COMPILER_LAUNCHER=ccache")
        good, said = run(["cmake", "-S", ".", "-B", "build", "-G", "Ninja", *fast], folder)
        if not good:
            sys.exit(said)

    def make(self, *targets):
        return run(["ninja", "-C", "build", "-j2", *targets], self.top)

    def objects(self, name):
        """What the compiler made of a source file; of a header: nothing is known."""
        found = sorted(self.build.glob(f"**/{name}.o"))
        return [path.read_bytes() for path in found]


def try_bug(copy, file, text, bug, tests, seconds, clean):
    path = copy.top / file
    path.write_text(bug.apply(text))
    try:
        for test in tests:
            good, _ = copy.make(f"test_{test}")
            if not good:
                return "stillborn", ""
            if test == tests[0] and file.endswith(".c") and copy.objects(path.name) == clean:
                return "same", ""
            good, _ = run([str(copy.build / f"test_{test}")], copy.top, max(20, 10 * seconds[test]))
            if not good:
                return "caught", test
        return "survived", ""
    finally:
        path.write_text(text)


def near(tests, file, first):
    """Tests named like the file, after those that the room begins with."""
    stem = pathlib.Path(file).stem
    return sorted(tests, key=lambda t: (t not in first and t != stem, t != stem and stem.split("_")[0] not in t, t == "store_faults"))


def find_bugs(pattern, finder, only):
    bugs = []
    for path in sorted(TOP.glob(pattern)):
        file = str(path.relative_to(TOP))
        if only in file:
            text = path.read_text()
            bugs += [(file, text, bug) for bug in sorted(finder(text), key=lambda b: b.edits[0][0])]
    return bugs


def sample_of(bugs, options):
    if not options.sample or options.sample >= len(bugs):
        return bugs
    drawn = random.Random(options.seed).sample(range(len(bugs)), options.sample)
    return [bugs[i] for i in sorted(drawn)]


def try_code(options, pattern, finder, tests, first):
    bugs = sample_of(find_bugs(pattern, finder, options.only), options)
    if options.list:
        for file, text, bug in bugs:
            print(f"{file}:{line_of(text, bug.edits[0][0])}: {bug.what}")
        print(f"{len(bugs)} bugs")
        return {}
    copy = Copy(options.keep.resolve())
    seconds = {}
    good, said = copy.make(*(f"test_{t}" for t in tests))
    if not good:
        sys.exit(said)
    for test in tests:
        begin = time.monotonic()
        if not run([str(copy.build / f"test_{test}")], copy.top)[0]:
            sys.exit(f"test_{test} fails without any bug")
        seconds[test] = time.monotonic() - begin
    clean = {file: copy.objects(pathlib.Path(file).name) for file, _, _ in bugs}
    told = {}
    for n, (file, text, bug) in enumerate(bugs, 1):
        end, by = try_bug(copy, file, text, bug, near(tests, file, first), seconds, clean[file])
        place = f"{file}:{line_of(text, bug.edits[0][0])}"
        print(f"{n}/{len(bugs)} {end:9} {place}: {bug.what}{' (' + by + ')' if by else ''}", flush=True)
        counts = told.setdefault(str(pathlib.Path(file).parent), {})
        counts[end] = counts.get(end, 0) + 1
    return told


def self_test():
    """Each finder on a text with known bugs."""
    sql = "UPDATE t SET a = ?2 WHERE id = ?1 AND b BETWEEN 1 AND 2 AND x IN (SELECT y FROM z WHERE v = 1)"
    made = [bug.apply(sql) for bug in write_bugs(sql)]
    terms_in_it = ["id = ?1", "b BETWEEN 1 AND 2", "x IN (SELECT y FROM z WHERE v = 1)", "v = 1"]
    wanted = [sql.replace(term, f"({term} OR 1)") for term in terms_in_it]
    bad = [f"writes: {m!r}" for m, w in zip(made, wanted) if m != w] + ["writes: number"] * (len(made) != 4)
    code = "/* a == b */\n\tif (a == b && !c)\n\t\tcall(1);\n\tassert(a < b);\n"
    found = sorted(bug.apply(code) for bug in c_bugs(code))
    for old, new in [("(a ==", "(a !="), ("&&", "||"), ("!c", "c"), ("(1)", "(2)"), ("\t\tcall(1);", ";"), ("(a == b && !c)", "(0 && (a == b && !c))")]:
        if code.replace(old, new, 1) not in found:
            bad.append(f"code: {old} to {new}")
    if len(found) != 7:
        bad.append(f"code: {len(found)} bugs")
    print("\n".join(bad))
    print(f"{2 - len({b.split(':')[0] for b in bad})} passed, {len({b.split(':')[0] for b in bad})} failed")
    return 1 if bad else 0


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("room", nargs="?", choices=ROOMS)
    parser.add_argument("--sample", type=int, default=0)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", default="", help="files whose path holds this")
    parser.add_argument("--list", action="store_true", help="print the bugs, try none")
    parser.add_argument("--keep", type=pathlib.Path, help="folder of the scratch copy")
    parser.add_argument("--self-test", action="store_true")
    options = parser.parse_args()
    if options.self_test:
        return self_test()
    if not options.room:
        parser.error("name a room")
    pattern, finder, folders, first = ROOMS[options.room]
    kept = options.keep
    options.keep = kept or pathlib.Path(tempfile.mkdtemp(prefix="mutate."))
    try:
        if pattern:
            told = try_code(options, pattern, globals()[finder], tests_of(folders), first)
        else:
            told = try_sql(options, globals()[finder], tests_of(folders), first)
    finally:
        if not kept:
            shutil.rmtree(options.keep, ignore_errors=True)
    for place, counts in sorted(told.items()):
        caught, survived = counts.get("caught", 0), counts.get("survived", 0)
        rate = 100 * caught / max(1, caught + survived)
        print(f"{place}: {caught} caught, {survived} survived ({rate:.0f} %), {counts.get('same', 0)} the same, {counts.get('stillborn', 0)} did not compile")
    return 0


if __name__ == "__main__":
    sys.exit(main())
