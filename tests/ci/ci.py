#!/usr/bin/env python3
"""The pieces of `cli/ci` and the hooks, each held against its published form
and run as it stands, on repositories made for it.

    ci.py GUTTA

Oracles: the schemas of GitHub's actions and workflows and of GitLab's jobs, as
`check-jsonschema` (PyPI) ships them, which come from SchemaStore and GitLab;
`pre-commit` (PyPI) itself, which makes the commits. Nothing is fetched.
"""

import json
import os
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile
import xml.etree.ElementTree as xml

import yaml

ROOT = pathlib.Path(__file__).resolve().parent.parent.parent
PIECES = ROOT / "cli" / "ci"
HOOKS = ROOT / ".pre-commit-hooks.yaml"

REFERENCE = """\
area adult-icu "Adult intensive care"
  patient    weight 40 to 150 kg

pump syringe "Syringe pump"
  flow       0.1 to 99.9 mL/h in steps of 0.1 mL/h
  bolus      up to 600 mL/h

solution glucose-5 "Glucose 5 %"
  contains   glucose 50 mg/mL

drug noradrenaline "Noradrenaline (as base)"
  dosed in   mcg/kg/min
  supplied   4 mg in 4 mL
  with       glucose-5
  only by    central vein
  usual dose       0.01 to 1 mcg/kg/min
  never dose       above 2 mcg/kg/min
"""
ORDER = """\
use "reference.gtt"

order noradrenaline-central "Noradrenaline, single strength"
  drug       noradrenaline
  area       adult-icu
  route      central vein
  pump       syringe
  mix        4 mg made up to 50 mL with glucose-5
  run        all at 0.06 mcg/kg/min
  then       renew
  review by  2099-11-01
"""
NEVER = ORDER.replace("0.06 mcg", "3 mcg")
LOOSE = ORDER.replace("4 mg made", "4mg made")

tests = {"schemas": [], "github": [], "gitlab": [], "pre-commit": []}


def test(kind):
    """Puts a function among the tests of the kind."""
    def put(one):
        tests[kind].append(one)
        return one

    return put


class Repository:
    """A house's repository, and the environment that its commands run in."""

    def __init__(self, folder, gutta):
        self.folder = folder / "house"
        self.folder.mkdir()
        self.home = folder / "home"
        self.home.mkdir()
        bin_ = folder / "bin"
        bin_.mkdir()
        (bin_ / "gutta").symlink_to(gutta)
        self.bin = bin_
        self.env = {
            "PATH": f"{bin_}:{os.environ['PATH']}",
            "HOME": str(self.home),
            "LC_ALL": "C.UTF-8",
            "GIT_CONFIG_NOSYSTEM": "1",
            "PRE_COMMIT_HOME": str(self.home / "pre-commit"),
        }
        for name in ("user.name", "user.email"):
            self.run("git", "config", "--global", name, "tarnwick@tarnwick.example")
        self.run("git", "config", "--global", "init.defaultBranch", "main")
        self.run("git", "init", "--quiet")
        self.write("gutta.toml", "")
        self.write("reference.gtt", REFERENCE)
        self.write("order.gtt", ORDER)
        self.commit()

    def write(self, path, text):
        path = self.folder / path
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")

    def read(self, path):
        return (self.folder / path).read_text(encoding="utf-8")

    def run(self, *words, code=0, env=None, folder=None):
        done = subprocess.run(words, cwd=folder or self.folder, env=env or self.env, check=False,
                              stdin=subprocess.DEVNULL, capture_output=True, text=True, timeout=120)
        same(done.returncode, code, f"{words}:\n{done.stdout}{done.stderr}")
        return done.stdout + done.stderr

    def commit(self, code=0):
        self.run("git", "add", "--all")
        return self.run("git", "commit", "--quiet", "--message", "as it is", code=code)


def same(is_, wanted, told=""):
    if is_ != wanted:
        raise AssertionError(f"{is_!r}, and not {wanted!r}: {told}")


def holds(text, words):
    if words not in text:
        raise AssertionError(f"{words!r} is not in:\n{text}")


# Schemas


def schema(name, path):
    done = subprocess.run([sys.executable, "-m", "check_jsonschema", "--builtin-schema", f"vendor.{name}", path],
                          capture_output=True, text=True, check=False)
    same(done.returncode, 0, done.stdout + done.stderr)


def examples():
    """The examples of the README, by the file that each is."""
    text = (PIECES / "README.md").read_text(encoding="utf-8")
    return re.findall(r"```yaml\n# (\S+)\n(.*?)```", text, re.DOTALL)


@test("schemas")
def the_action_is_one(_):
    schema("github-actions", PIECES / "github" / "action.yml")


@test("schemas")
def the_job_is_one(_):
    schema("gitlab-ci", PIECES / "gitlab" / "gutta.gitlab-ci.yml")


@test("schemas")
def the_hooks_are_some(house):
    house.run(sys.executable, "-m", "pre_commit", "validate-manifest", str(HOOKS))


@test("schemas")
def the_examples_are_what_they_say(house):
    names = []
    for name, text in examples():
        names.append(name)
        path = house.folder / "example.yml"
        path.write_text(text, encoding="utf-8")
        match name:
            case ".gitlab-ci.yml":
                schema("gitlab-ci", path)
            case ".pre-commit-config.yaml":
                house.run(sys.executable, "-m", "pre_commit", "validate-config", str(path))
            case _:
                schema("github-workflows", path)
                given = {use for job in yaml.safe_load(text)["jobs"].values() for step in job["steps"]
                         if step["uses"].startswith("./") for use in step["with"]}
                action = yaml.safe_load((PIECES / "github" / "action.yml").read_text(encoding="utf-8"))
                same(given - set(action["inputs"]), set())
    same(len(names), 4, names)


# GitHub


def expand(value, inputs, outputs):
    """The expressions that the action uses: an input, a step's output."""
    def one(match):
        parts = match[1].split(".")
        match parts:
            case ["inputs", name]:
                return inputs[name]
            case ["steps", step, "outputs", name]:
                return outputs[step].get(name, "")
        raise AssertionError(f"an expression that the tests do not know: {match[0]}")

    return re.sub(r"\$\{\{\s*(.*?)\s*\}\}", one, value)


def action(house, code=0, env=None, **given):
    """Carries the action out as the runner does; its log, outputs and summary.

    https://docs.github.com/en/actions/reference/workflows-and-actions/workflow-syntax#jobsjob_idstepsshell:
    `shell: bash` is `bash --noprofile --norc -eo pipefail {0}`.
    """
    described = yaml.safe_load((PIECES / "github" / "action.yml").read_text(encoding="utf-8"))
    inputs = {name: one.get("default", "") for name, one in described["inputs"].items()}
    given = {name.replace("_", "-"): value for name, value in given.items()}
    same(set(given) - set(inputs), set())
    inputs |= given
    outputs, log = {}, ""
    runner = pathlib.Path(tempfile.mkdtemp(dir=house.home))
    for number, step in enumerate(described["runs"]["steps"]):
        same(step["shell"], "bash")
        # An expression in a script would be code.
        same("${{" in step["run"], False)
        script, output = runner / f"{number}.sh", runner / f"{number}.output"
        script.write_text(step["run"], encoding="utf-8")
        output.touch()
        here = (env or house.env) | {
            "CI": "true",
            "GITHUB_ACTIONS": "true",
            "GITHUB_WORKSPACE": str(house.folder),
            "GITHUB_OUTPUT": str(output),
            "GITHUB_STEP_SUMMARY": str(runner / "summary.md"),
            "RUNNER_TEMP": str(runner),
        } | {name: expand(value, inputs, outputs) for name, value in step.get("env", {}).items()}
        log += house.run("bash", "--noprofile", "--norc", "-eo", "pipefail", str(script), code=code, env=here)
        outputs[step["id"]] = dict(line.split("=", 1) for line in output.read_text().splitlines())
    told = {name: expand(one["value"], inputs, outputs) for name, one in described["outputs"].items()}
    summary = runner / "summary.md"
    return log, told, summary.read_text(encoding="utf-8") if summary.exists() else ""


@test("github")
def what_is_right_passes(house):
    log, outputs, summary = action(house)
    same((log, outputs), ("", {"exit-code": "0"}))
    holds(summary, "    No errors or warnings in 2 files")


@test("github")
def what_is_wrong_is_annotated(house):
    house.write("order.gtt", NEVER)
    log, outputs, summary = action(house, code=1)
    holds(log, "::error title=limit.never,file=order.gtt,line=9,endLine=9,col=3,endColumn=33::")
    same(outputs, {"exit-code": "1"})
    holds(summary, "    order.gtt:9:3: error limit.never: ")
    holds(summary, "not a medical device")


@test("github")
def inputs_are_taken(house):
    house.write("order.gtt", LOOSE)
    action(house)
    action(house, code=1, fail_on="warning")
    action(house, sarif="out.sarif")
    results = json.loads(house.read("out.sarif"))["runs"][0]["results"]
    same([result["ruleId"] for result in results], ["text.no-space"])
    house.run("gutta", "check", "--write-baseline", "known.toml", "--fail-on", "warning")
    log, _, _ = action(house, fail_on="warning", baseline="known.toml")
    holds(log, "held back by known.toml")


@test("github")
def paths_are_names_and_nothing_else(house):
    house.write("a b/c.gtt", NEVER.replace('"ref', '"../ref').replace("-central", "-c"))
    odd = "$(touch bad); touch 'bad'.gtt"
    house.write(odd, LOOSE.replace("-central", "-odd"))
    house.write("-x.gtt", LOOSE.replace("-central", "-other"))
    log, _, _ = action(house, paths=f"order.gtt\n\n{odd}\n-x.gtt\n")
    same([line.split(",")[1] for line in log.splitlines() if line.startswith("::warning title=text.no-space")],
         ["file=$(touch bad); touch 'bad'.gtt", "file=-x.gtt"])
    log, _, _ = action(house, code=1, paths="a b")
    holds(log, "file=a b/c.gtt,")
    same((house.folder / "bad").exists(), False)


@test("github")
def only_what_has_changed_is_checked(house):
    house.write("order.gtt", NEVER)
    house.commit()
    house.write("other.gtt", ORDER.replace("-central", "-other"))
    log, _, _ = action(house, changed_since="main")
    same(log, "gutta: 1 file changed since main; 2 files to check, with those that depend on it\n")
    house.write("reference.gtt", REFERENCE.replace("above 2 ", "above 1.9 "))
    log, _, _ = action(house, code=1, changed_since="main")
    holds(log, "file=order.gtt")


@test("github")
def what_could_not_run_is_said(house):
    log, outputs, _ = action(house, code=2, changed_since="nothing")
    holds(log, "gutta: `nothing` is not a commit of this repository")
    holds(log, "::error title=gutta::the orders could not be checked")
    same(outputs, {"exit-code": "2"})
    (house.bin / "gutta").unlink()
    log, outputs, _ = action(house, code=2)
    same(log, "::error title=gutta::gutta is not installed on this runner\n")
    same(outputs, {"exit-code": "2"})


# GitLab


def job(house, code=0, **variables):
    """Carries the job out in the shells that a runner uses; its log."""
    described = yaml.safe_load((PIECES / "gitlab" / "gutta.gitlab-ci.yml").read_text(encoding="utf-8"))["gutta"]
    env = house.env | {"CI": "true", "GITLAB_CI": "true"} | described["variables"] | variables
    script = "\n".join(described["script"])
    reports = described["artifacts"]["reports"]
    logs = []
    for shell in (["bash", "-c", f"set -eo pipefail\n{script}"], ["sh", "-c", f"set -e\n{script}"]):
        for path in reports.values():
            (house.folder / path).unlink(missing_ok=True)
        logs.append(house.run(*shell, code=code, env=env))
    same(logs[0], logs[1], "bash and sh")
    if code == 2:
        return logs[0], None, None
    quality = json.loads(house.read(reports["codequality"]))
    return logs[0], quality, xml.fromstring(house.read(reports["junit"]))


@test("gitlab")
def a_right_order_passes(house):
    log, quality, junit = job(house)
    holds(log, "No errors or warnings in 2 files")
    same(quality, [])
    same((junit.get("failures"), [suite.get("name") for suite in junit]), ("0", ["order.gtt", "reference.gtt"]))


@test("gitlab")
def a_wrong_order_is_reported(house):
    house.write("order.gtt", NEVER)
    log, quality, junit = job(house, code=1)
    holds(log, "error[limit.never]")
    found = {one["check_name"]: one["location"] for one in quality}
    same(found["limit.never"], {"path": "order.gtt", "lines": {"begin": 9, "end": 9}})
    [case] = [case for case in junit.iter("testcase") if case.find("failure") is not None]
    same((case.get("classname"), case.get("name")), ("order.gtt", "order noradrenaline-central"))


@test("gitlab")
def variables_are_taken(house):
    house.write("order.gtt", LOOSE)
    house.commit()
    job(house)
    job(house, code=1, GUTTA_FAIL_ON="warning")
    house.write("a b/c.gtt", NEVER.replace('"ref', '"../ref').replace("-central", "-other"))
    job(house, GUTTA_PATH="order.gtt")
    _, quality, _ = job(house, code=1, GUTTA_PATH="a b")
    same({one["location"]["path"] for one in quality}, {"a b/c.gtt"})
    _, quality, _ = job(house, code=1, GUTTA_CHANGED_SINCE="HEAD")
    same({one["location"]["path"] for one in quality}, {"a b/c.gtt"})
    house.run("gutta", "check", "order.gtt", "--write-baseline", "known.toml", "--fail-on", "warning")
    job(house, GUTTA_PATH="order.gtt", GUTTA_FAIL_ON="warning", GUTTA_BASELINE="known.toml")


@test("gitlab")
def a_job_that_could_not_run_fails(house):
    log, _, _ = job(house, code=2, GUTTA_CHANGED_SINCE="nothing")
    holds(log, "is not a commit of this repository")


# pre-commit


def hooked(house, configuration):
    house.write(".pre-commit-config.yaml", configuration)
    house.commit()
    house.run(sys.executable, "-m", "pre_commit", "install", "--install-hooks")


def from_repository(house):
    """The README's example, with a repository that holds the hooks."""
    hooks = house.home / "hooks"
    hooks.mkdir()
    shutil.copy(HOOKS, hooks)
    for words in (["init"], ["add", "--all"], ["commit", "--message", "hooks"], ["tag", "v0.1.0"]):
        house.run("git", *words, folder=hooks)
    [text, _] = [text for name, text in examples() if name == ".pre-commit-config.yaml"]
    hooked(house, re.sub(r"repo: \S+", f"repo: {hooks}", text))


@test("pre-commit")
def a_right_order_is_committed(house):
    from_repository(house)
    house.write("other.gtt", ORDER.replace("-central", "-other"))
    log = house.commit()
    holds(log, "gutta check")
    holds(log, "Passed")


@test("pre-commit")
def a_wrong_order_is_not(house):
    from_repository(house)
    house.write("order.gtt", NEVER)
    holds(house.commit(code=1), "error[limit.never]")
    # The arguments hold: a warning is enough.
    house.write("order.gtt", LOOSE)
    holds(house.commit(code=1), "warning[text.no-space]")


@test("pre-commit")
def what_leans_on_a_change_is_checked(house):
    from_repository(house)
    house.write("reference.gtt", REFERENCE.replace("0.01 to 1 ", "0.1 to 1 "))
    holds(house.commit(code=1), "warning[limit.unusual]")


@test("pre-commit")
def a_deletion_is_checked(house):
    from_repository(house)
    (house.folder / "reference.gtt").unlink()
    holds(house.commit(code=1), "order.gtt:1:")


@test("pre-commit")
def what_has_changed_is_laid_out(house):
    from_repository(house)
    house.write("order.gtt", ORDER.replace("  area       adult", "  area adult"))
    holds(house.commit(code=1), "files were modified by this hook")
    same(house.read("order.gtt"), ORDER)
    house.write("order.gtt", ORDER + "\n# more\n")
    house.commit()


@test("pre-commit")
def hooks_can_be_tried(house):
    hooks = house.home / "hooks"
    hooks.mkdir()
    shutil.copy(HOOKS, hooks)
    house.run("git", "init", folder=hooks)
    house.run("git", "add", "--all", folder=hooks)
    house.run("git", "commit", "--message", "hooks", folder=hooks)
    log = house.run(sys.executable, "-m", "pre_commit", "try-repo", str(hooks), "--all-files", "--verbose")
    holds(log, "No errors or warnings in 2 files")
    holds(log, "2 files already in the standard layout")


@test("pre-commit")
def a_local_hook_needs_no_clone(house):
    [_, text] = [text for name, text in examples() if name == ".pre-commit-config.yaml"]
    hooked(house, text)
    house.write("order.gtt", NEVER)
    holds(house.commit(code=1), "error[limit.never]")


def main():
    gutta = pathlib.Path(sys.argv[1]).resolve()
    wrong = 0
    for kind, of_kind in tests.items():
        passed = 0
        for one in of_kind:
            with tempfile.TemporaryDirectory() as folder:
                try:
                    one(Repository(pathlib.Path(folder), gutta))
                    passed += 1
                except Exception as error:  # whatever it is, the test has not passed
                    wrong += 1
                    print(f"FAIL {kind} {one.__name__}: {error}")
        print(f"ci {kind}: {passed} passed, {len(of_kind) - passed} failed")
    sys.exit(1 if wrong else 0)


if __name__ == "__main__":
    main()
