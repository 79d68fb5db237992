"""`rackful passphrase`: sets the passphrase for access from the network."""

from __future__ import annotations

import sys
from dataclasses import replace

import click

from inventory.cli.program import CommandContext, rackful_command
from inventory.web.access.sign_in import hash_new_passphrase


@rackful_command("passphrase")
@click.option("--clear", is_flag=True, help="Take the pass phrase away; the shop then opens on this machine alone.")
def command(run: CommandContext, clear: bool) -> None:
    """Sets the pass phrase that phones and other machines are asked for.

    At a terminal it is asked for twice and not shown; else it is the first line of standard input. Every browser
    that was let in has to give the new one.

    \b
    Examples:
      rackful passphrase
      rackful passphrase < phrase.txt
    """
    phrase_hash = "" if clear else _prompted_hash()
    with run.shop_or_new() as shop:
        shop.save_settings(replace(shop.settings(), pass_phrase_hash=phrase_hash))
    run.answer(
        {"pass_phrase": not clear},
        "The pass phrase is taken away."
        if clear
        else "The pass phrase is set. rackful serve --host 0.0.0.0 may start.",
    )


def _prompted_hash() -> str:
    if not sys.stdin.isatty():
        phrase = sys.stdin.readline()
        return hash_new_passphrase(phrase, phrase)
    phrase = click.prompt("New pass phrase", hide_input=True, err=True)
    return hash_new_passphrase(phrase, click.prompt("The same again", hide_input=True, err=True))
