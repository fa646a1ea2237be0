"""Publishing vehicles, mounts, bays, jobs and settings to the boxes of a site."""

from __future__ import annotations

from pathlib import Path

import click

from companion.commands.saying import say_now, tell
from companion.commands.storing_options import store_address
from companion.published.manifest import read_folder
from companion.runtime.checks.published import Place, check_published
from companion.store.connecting import connected
from companion.store.publishing import publish as publish_files


@click.command("publish")
@click.argument("folder", type=click.Path(path_type=Path))
@click.option("--site", required=True, help="The site whose boxes are to take them.")
@click.option("--box", "boxes", multiple=True, help="Only this box of it; can be given again.")
@click.option(
    "--password-from",
    type=click.Path(path_type=Path),
    help="Read your password of the pages from the first line of this file instead of asking.",
)
@store_address
def publish(
    folder: Path,
    site: str,
    boxes: tuple[str, ...],
    password_from: Path | None,
    where: str,
    password_file: Path | None,
) -> None:
    """Publish the files of a folder to boxes, signed with your key; they take the place of those
    published before.

    In the folder stand jobs/, vehicles/, mounts/, bays/, stands/ with YAML files, and
    settings.yaml, which says which of them a job begins with. A bay that names a stand brings its
    file in stands/. A supervisor does it, by the login that add-supervisor
    made. A box takes them when it is next in touch and no job is being done, if it believes your
    key and finds nothing wrong with them.

    \b
    Example: companion store publish shop/ --site A --store "user=ROLE" --password-file b.pass
    """
    say = say_now()
    files = read_folder(folder)
    check_published(folder, files, Place())
    if password_from is None:
        password = click.prompt(say("publish-password"), hide_input=True)
    else:
        password = password_from.read_text("utf-8").partition("\n")[0]
    with connected(where, password_file) as connection:
        manifest, name, meant = publish_files(connection, files, site, boxes, password)
    tell(
        say(
            "published",
            version=manifest.version,
            files=len(files),
            name=name,
            boxes=", ".join(meant),
        )
    )
