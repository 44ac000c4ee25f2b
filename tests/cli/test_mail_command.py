"""`playalong mail` as a person runs it, on a folder with real tracks and on a list of pupils."""

from __future__ import annotations

import json
import shutil
import zipfile
from email import policy
from email.message import EmailMessage
from email.parser import BytesParser
from io import BytesIO
from pathlib import Path
from subprocess import CompletedProcess
from typing import Any

import program
import pytest
from mailfolder import folder_of, short_drill
from mailserver import PASSWORD, USER, Authority, Taken, free_port, smtp_server

from playalong.drill.load import load
from playalong.drill.variation import Variation
from playalong.folder.lock import locked
from playalong.mail.contents import Choice, read_contents
from playalong.making.make import make
from playalong.making.plan import Options
from playalong.shipped import own_bank

HEADING = "address,key,string,start,goal,name,positions\n"


def run(*words: object, cwd: Path, **environment: str) -> CompletedProcess[str]:
    settings = {"XDG_CONFIG_HOME": str(cwd / "config"), **environment}
    return program.run("mail", *words, cwd=cwd, **settings)


def read(path: Path) -> EmailMessage:
    message = BytesParser(policy=policy.default).parsebytes(path.read_bytes())
    assert isinstance(message, EmailMessage)
    return message


@pytest.fixture(scope="module")
def drill(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return short_drill(tmp_path_factory.mktemp("drill"))


@pytest.fixture(scope="module")
def out(drill: Path) -> Path:
    make(load(drill), drill.parent / "out", Options(own_bank()))
    return drill.parent / "out"


def test_a_draft_holds_every_file_of_the_folder_byte_for_byte(out: Path, tmp_path: Path) -> None:
    words = ("--to", "Jörg <j@example.org>", "--cc", "me@example.org", "--subject", "Für Jörg")
    told = run(out, *words, "--midi", cwd=tmp_path)
    assert told.returncode == 0, told.stderr
    assert told.stdout.startswith("ubung-b-eins-b-flat.eml (11 files, ")
    draft = read(tmp_path / "ubung-b-eins-b-flat.eml")
    assert (draft["X-Unsent"], draft["Subject"]) == ("1", "Für Jörg")
    assert (draft["To"], draft["Cc"]) == ("Jörg <j@example.org>", "me@example.org")
    attached = {p.get_filename(): p.get_payload(decode=True) for p in draft.iter_attachments()}
    endings = (".mp3", ".mid", ".pdf")
    files = {path.relative_to(out) for path in out.rglob("*.*") if path.suffix in endings}
    assert attached == {"-".join(file.parts): (out / file).read_bytes() for file in files} | {
        "read-me-first.txt": (out / "read-me-first.txt").read_bytes()
    }


def test_plain_and_html_say_what_the_tracks_are_how_to_practise_and_the_cautions(
    out: Path, tmp_path: Path
) -> None:
    run(out, "--to", "j@example.org", cwd=tmp_path)
    draft = read(tmp_path / "ubung-b-eins-b-flat.eml")
    for kind in ("plain", "html"):
        body = draft.get_body((kind,))
        assert body is not None
        text = " ".join(body.get_content().split())
        assert ("Hello, Here are" if kind == "plain" else "<p>Here are") in text
        for promise in (
            "C major, A string: tracks 1 to 4, at 200 to 208 beats a minute",
            "a hands-free session",
            "listen: the bar is played",
            "follow it with your ear",
            "not medical advice",
            "Stop on pain, numbness or tingling",
            "low volume",
        ):
            assert promise in text
    assert "&lt;b&gt;eins&lt;/b&gt;" in text
    assert "<b>" not in text


def test_a_zip_keeps_the_folders_and_is_the_same_twice(out: Path, tmp_path: Path) -> None:
    packed = []
    for name in ("first", "second"):
        told = run(out, "--to", "j@example.org", "--zip", "-o", name, cwd=tmp_path)
        assert told.returncode == 0, told.stderr
        (part,) = read(tmp_path / name / "ubung-b-eins-b-flat.eml").iter_attachments()
        assert part.get_content_type() == "application/zip"
        packed.append(part.get_payload(decode=True))
    assert packed[0] == packed[1]
    with zipfile.ZipFile(BytesIO(packed[0])) as archive:
        track = "C-major/A/01-200-listen.mp3"
        assert archive.read(f"ubung-b-eins-b-flat/{track}") == (out / track).read_bytes()


def test_a_zip_of_some_tracks_leaves_out_the_page_that_would_offer_the_others(
    out: Path, tmp_path: Path
) -> None:
    words = ("--zip", "--bpm", 208, "--quiet", "--limit", 1000)
    told = run(out, "--to", "j@example.org", *words, cwd=tmp_path)
    assert told.stderr == (
        "note: index.html is not in the zip, because it offers tracks that were not asked for\n"
    )
    (part,) = read(tmp_path / "ubung-b-eins-b-flat.eml").iter_attachments()
    with zipfile.ZipFile(BytesIO(part.get_payload(decode=True))) as archive:
        names = [name.partition("/")[2] for name in archive.namelist()]
    assert names == [
        "read-me-first.txt", "sheet.pdf", "C-major/A/03-208-listen.mp3",
        "C-major/A/04-208-alone.mp3",
    ]  # fmt: skip


def test_what_a_pupils_set_leaves_out_is_told_as_make_tells_it(drill: Path, tmp_path: Path) -> None:
    climb = tmp_path / "climb.toml"
    climb.write_text(drill.read_text().replace("passes = 1", "passes = 1\nclimb = 4"))
    (tmp_path / "p.csv").write_text("address,positions\na@example.org,1-3\n")
    told = run(climb, "--pupils", "p.csv", "-o", "sets", "--no-session", cwd=tmp_path)
    assert told.returncode == 0, told.stderr
    near = load(climb, Variation(positions=(1, 3)))
    make_told = make(near, tmp_path / "o", Options(own_bank()))
    assert make_told.plan.left_out
    for line in make_told.plan.left_out:
        assert f"left out: a@example.org: {line}\n" in told.stderr


def test_filters_json_and_limit_work_together(out: Path, tmp_path: Path) -> None:
    told = run(
        out, "--to", "j@example.org", "--stage", "listen", "--bpm", 200, "--bpm", 208,
        "--key", "c major", "--string", "A", "--limit", "0.1", "--json", cwd=tmp_path,
    )  # fmt: skip
    data = json.loads(told.stdout)
    files = [file for mail in data["mails"] for file in mail["files"]]
    assert files == ["sheet.pdf", "C-major/A/01-200-listen.mp3", "C-major/A/03-208-listen.mp3"]
    for mail in data["mails"]:
        assert (tmp_path / mail["draft"]).stat().st_size == mail["bytes"] <= 100_000


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ((), "nobody to mail to; add --to ADDRESS, or --pupils LIST"),
        (("--to", "nobody"), '--to: "nobody" is not a mail address'),
        (("--to", "a@example.org\nBcc: b@example.org"), "--to: an address has a line break"),
        (("--to", "a@example.org", "--subject", "x\r\nBcc: b@c.d"), "the subject has a line break"),
        (("--to", "a@example.org", "--limit", "0"), "--limit: 0 is not a size"),
        (("--to", "a@example.org", "--limit", "nan"), "--limit: nan is not a size"),
        (("--to", "a@example.org", "--limit", "1000.1"), "--limit: 1000.1 is not a size"),
        (("--to", "a@example.org", "--limit", "0.001"), "alone makes a mail of"),
        (("--to", "a@example.org", "--stage", "lisen"), 'did you mean "listen"'),
        (("--to", "a@example.org", "--send"), 'no "server" is set; write '),
        (("--pupils", "p.csv", "--to", "a@example.org"), "leave out --to and --cc"),
        (("--pupils", "p.csv", "--key", "C major"), "leave out --key and --string"),
    ],
    ids=str,
)
def test_a_wrong_word_is_one_clear_message_and_no_draft(
    out: Path, tmp_path: Path, words: tuple[str, ...], said: str
) -> None:
    told = run(out, *words, cwd=tmp_path)
    assert told.returncode == 2
    assert said in told.stderr
    assert "Traceback" not in told.stderr
    assert not list(tmp_path.glob("**/*.eml"))


def test_send_hands_the_mail_over_and_leaves_no_draft_and_no_password(
    out: Path, tmp_path: Path
) -> None:
    taken, authority = Taken(), Authority()
    authority.authority.cert_pem.write_to_path(str(tmp_path / "ca.pem"))
    with smtp_server(taken, starttls=authority.context(), login=True) as port:
        (tmp_path / "mail.toml").write_text(
            f'server = "127.0.0.1"\nport = {port}\nfrom = "Me <me@example.org>"\n'
            f'user = "{USER}"\nca_file = "{tmp_path / "ca.pem"}"\n'
        )
        words = ("--send", "--settings", "mail.toml", "--to", "j@example.org")
        sent = run(out, *words, cwd=tmp_path, PLAYALONG_MAIL_PASSWORD=PASSWORD)
        wrong = run(out, *words, cwd=tmp_path, PLAYALONG_MAIL_PASSWORD=PASSWORD + "!")
    assert (sent.returncode, wrong.returncode) == (0, 2)
    assert sent.stdout.startswith("sent to j@example.org: Übung <b>eins</b> ♭ (")
    assert "refused the login" in wrong.stderr
    assert taken.recipients == [["j@example.org"]]
    assert not list(tmp_path.glob("*.eml"))
    assert PASSWORD not in sent.stdout + sent.stderr + wrong.stdout + wrong.stderr
    for path in tmp_path.rglob("*"):
        assert path.is_dir() or PASSWORD.encode() not in path.read_bytes()


def test_a_set_that_is_too_large_is_told_to_be_encoded_twice(out: Path, tmp_path: Path) -> None:
    size = sum(item.size_bytes for item in read_contents(out, Choice()).items)
    limit = 1.2 * size / 1e6
    told = run(out, "--to", "j@example.org", "--limit", limit, "--no-session", cwd=tmp_path)
    assert "the tracks were encoded a second time, at " in told.stderr
    assert len(list(tmp_path.glob("*.eml"))) == 1


def test_each_pupil_gets_their_own_set_and_sees_no_other_address(
    drill: Path, tmp_path: Path
) -> None:
    (tmp_path / "p.csv").write_text(
        "address;name;key;string;start;goal\n"
        "anna@example.org;Anna <script>;Bb major;A;200;200\n"
        "ben@example.org;;D major;E;208;208\n",
        encoding="utf-8-sig",
    )
    told = run(drill, "--pupils", "p.csv", "-o", "sets", "--no-session", cwd=tmp_path)
    assert told.returncode == 0, told.stderr
    first, second = (read(path) for path in sorted((tmp_path / "sets").glob("*.eml")))
    names = [[part.get_filename() for part in each.iter_attachments()] for each in (first, second)]
    for each, start in zip(names, ("B-flat-major-A-0{}-200", "D-major-E-0{}-208"), strict=True):
        tracks = [f"{start.format(1)}-listen.mp3", f"{start.format(2)}-alone.mp3"]
        assert each[1:] == ["sheet.pdf", *tracks]
    assert (str(first["To"]), second["To"]) == (
        '"Anna <script>" <anna@example.org>',
        "ben@example.org",
    )
    assert "Hello Anna &lt;script&gt;," in first.get_body(("html",)).get_content()
    for mine, other in ((first, b"ben@"), (second, b"anna@")):
        assert other not in mine.as_bytes()
        for part in mine.walk():
            content = part.get_payload(decode=True)
            assert not isinstance(content, bytes) or other not in content


def test_all_faults_of_a_list_are_told_at_once(drill: Path, tmp_path: Path) -> None:
    path = tmp_path / "p.csv"
    path.write_text(f"{HEADING}nobody,,,,,,\na@example.org,H major,,,,,\n", encoding="utf-8")
    told = run(drill, "--pupils", path, cwd=tmp_path)
    assert told.returncode == 2
    assert f"{path}, line 2: address" in told.stderr
    assert f"{path}, line 3: key" in told.stderr
    assert [each.name for each in tmp_path.iterdir()] == ["p.csv"]


def test_a_pupil_whose_mail_fails_does_not_stop_the_others(drill: Path, tmp_path: Path) -> None:
    path, taken = tmp_path / "p.csv", Taken({"RCPT b@example.org": "550 unknown"})
    path.write_text("address\na@example.org\nb@example.org\nc@example.org\n")
    with smtp_server(taken) as port:
        (tmp_path / "mail.toml").write_text(
            f'server = "127.0.0.1"\nport = {port}\nsecurity = "plain"\nfrom = "me@example.org"\n'
        )
        words = ("--pupils", path, "--send", "--settings", "mail.toml", "--no-session")
        told = run(drill, *words, cwd=tmp_path)
    assert told.returncode == 2
    assert taken.recipients == [["a@example.org"], ["c@example.org"]]
    assert "1 of 3 pupils have no mail" in told.stderr
    assert f"{path}, line 3, b@example.org: 127.0.0.1 refused every recipient" in told.stderr


def test_a_server_that_is_down_is_known_before_anything_is_made(
    drill: Path, tmp_path: Path
) -> None:
    (tmp_path / "p.csv").write_text("address\na@example.org\n")
    where = {"PLAYALONG_MAIL_SERVER": "127.0.0.1", "PLAYALONG_MAIL_PORT": str(free_port())}
    told = run(
        drill, "--pupils", "p.csv", "--send", "--from", "me@example.org", cwd=tmp_path, **where
    )
    assert (told.returncode, "refused the connection" in told.stderr) == (2, True)
    assert [each.name for each in tmp_path.iterdir()] == ["p.csv"]


def test_a_limit_counts_a_million_bytes_to_the_megabyte(tmp_path: Path) -> None:
    """400,000 bytes make 547,369 of base64 in lines of 76 and CRLF, and the words some thousand."""
    folder = folder_of(tmp_path / "out", [400_000], ending=".wav")
    told = run(folder, "--to", "anna@example.org", "--limit", "0.54", cwd=tmp_path)
    assert told.returncode == 2
    assert "alone makes a mail of 0.6 MB, and the limit is 0.6 MB" in told.stderr  # rounded up
    told = run(folder, "--to", "anna@example.org", "--limit", "0.5", cwd=tmp_path)
    assert "and the limit is 0.5 MB" in told.stderr
    assert not list(tmp_path.glob("*.eml"))
    told = run(folder, "--to", "anna@example.org", "--limit", "0.57", cwd=tmp_path)
    assert told.returncode == 0, told.stderr
    (draft,) = tmp_path.glob("*.eml")
    assert 547_369 < draft.stat().st_size <= 570_000


@pytest.mark.parametrize(
    ("limit", "status"), [("0", 2), ("-1", 2), ("1000", 0), ("1000.1", 2), ("0.06", 0)]
)
def test_a_limit_lies_above_nought_and_up_to_a_thousand_megabytes(
    limit: str, status: int, tmp_path: Path
) -> None:
    folder = folder_of(tmp_path / "out", [100])
    told = run(folder, "--to", "anna@example.org", "--limit", limit, cwd=tmp_path)
    assert told.returncode == status, told.stderr
    if status:
        assert f"--limit: {limit} is not a size from 0 to 1000 MB" in told.stderr


def plain_settings(folder: Path, port: int, more: str = "") -> Path:
    path = folder / "mail.toml"
    path.write_text(
        f'server = "127.0.0.1"\nport = {port}\nsecurity = "plain"\nfrom = "me@example.org"\n{more}'
    )
    return path


def test_a_pupil_who_was_served_is_told_and_not_served_again(drill: Path, tmp_path: Path) -> None:
    taken = Taken({"RCPT b@example.org": "450 later"})
    (tmp_path / "p.csv").write_text("address\na@example.org\nb@example.org\n")
    with smtp_server(taken) as port:
        settings = plain_settings(tmp_path, port)
        words = ("--pupils", "p.csv", "--send", "--settings", settings, "--no-session", "-o", "s")
        first = run(drill, *words, "--json", cwd=tmp_path)
        taken.answers.clear()
        second = run(drill, *words, cwd=tmp_path)
        third = run(drill, *words, "--json", cwd=tmp_path)
        again = run(drill, *words, "--again", cwd=tmp_path)
    assert [each.returncode for each in (first, second, third, again)] == [2, 0, 0, 0]
    errors = [each["error"] for each in json.loads(first.stdout)]
    assert errors[0] is None
    assert "b@example.org (450: later)" in errors[1]
    assert "a@example.org: sent before, 20" in second.stdout
    assert "b@example.org: sent\n" in second.stdout
    assert "what was sent before is not sent again; --again sends it anew" in second.stderr
    sent = [handed for each in json.loads(third.stdout) for handed in each["mails"][0]["sent"]]
    assert [(each["address"], each["before"]) for each in sent] == [
        ("a@example.org", True),
        ("b@example.org", True),
    ]
    assert taken.recipients == [[f"{letter}@example.org"] for letter in "abab"]


def test_a_folders_mails_are_sent_once(out: Path, tmp_path: Path) -> None:
    taken = Taken()
    shutil.copytree(out, tmp_path / "set")
    with smtp_server(taken) as port:
        settings = plain_settings(tmp_path, port)
        words = ("--to", "one@example.org", "--send", "--settings", settings)
        for _ in range(2):
            told = run("set", *words, cwd=tmp_path)
        wider = run("set", *words, "--cc", "two@example.org", cwd=tmp_path)
    assert told.stdout.startswith("sent before to one@example.org, 20")
    assert wider.stdout.startswith("sent to two@example.org: ")
    assert taken.recipients == [["one@example.org"], ["two@example.org"]]


def test_a_refused_mail_of_a_folder_is_told_with_what_was_sent_also_in_json(
    out: Path, tmp_path: Path
) -> None:
    taken = Taken({"RCPT two@example.org": "450 later"})
    with smtp_server(taken) as port:
        settings = plain_settings(tmp_path, port)
        words = ("--to", "one@example.org", "--send", "--settings", settings)
        runs = []
        for kind in ("--json", "--quiet", "--limit"):
            shutil.copytree(out, tmp_path / kind.strip("-"))
            more = (kind, 30) if kind == "--limit" else (kind,)
            runs.append(
                run(kind.strip("-"), *words, "--cc", "two@example.org", *more, cwd=tmp_path)
            )
    assert [each.returncode for each in runs] == [2, 2, 2]
    as_json, quiet, plain = runs
    data = json.loads(as_json.stdout)
    assert data["error"] == "sent, but not to all: two@example.org (450: later)"
    (sent,) = data["mails"][0]["sent"]
    assert (sent["address"], sent["answer"]) == ("one@example.org", "250 fine")
    assert quiet.stdout == ""
    assert plain.stdout.startswith("sent to one@example.org: ")
    for each in runs:
        assert each.stderr == f"playalong: {data['error']}\n"


class HangsUp(Taken):
    """Reads a mail to its end, and is gone."""

    async def handle_DATA(self, server: Any, session: Any, envelope: Any) -> str:  # noqa: N802
        server.transport.abort()
        return await super().handle_DATA(server, session, envelope)


def test_a_mail_without_an_answer_is_not_told_as_sent(out: Path, tmp_path: Path) -> None:
    shutil.copytree(out, tmp_path / "set")
    with smtp_server(HangsUp()) as port:
        settings = plain_settings(tmp_path, port)
        told = run("set", "--to", "a@b.org", "--send", "--settings", settings, cwd=tmp_path)
    assert (told.returncode, told.stdout) == (2, "")
    assert "the mail may not have arrived" in told.stderr


def test_a_folder_that_is_being_made_is_not_mailed(out: Path, tmp_path: Path) -> None:
    with locked(out):
        told = run(out, "--to", "j@example.org", cwd=tmp_path)
    assert (told.returncode, list(tmp_path.glob("*.eml"))) == (3, [])
    assert "another build is at work in" in told.stderr


def test_quiet_does_not_hide_that_others_can_read_the_password(out: Path, tmp_path: Path) -> None:
    settings = plain_settings(tmp_path, free_port(), 'user = "me"\npassword = "secret-word"\n')
    settings.chmod(0o644)
    told = run(
        out, "--to", "j@example.org", "--send", "--settings", settings, "--quiet", cwd=tmp_path
    )
    assert f"warning: others on this computer can read the password in {settings}" in told.stderr


def test_nothing_in_a_list_steers_the_terminal(drill: Path, tmp_path: Path) -> None:
    (tmp_path / "p\x1b[2J.csv").write_text("address,key\na@example.org,\x1b[31mH\n")
    told = run(drill, "--pupils", "p\x1b[2J.csv", cwd=tmp_path)
    assert told.returncode == 2
    assert "p\\x1b[2J.csv, line 2: key: " in told.stderr
    assert "\x1b" not in told.stderr + told.stdout


def test_again_is_for_sending(out: Path, tmp_path: Path) -> None:
    told = run(out, "--to", "j@example.org", "--again", cwd=tmp_path)
    assert (told.returncode, "--again: a draft is always written" in told.stderr) == (2, True)
