"""Filters that call the engine's kinds by the words a fence office uses."""

from django import template

register = template.Library()

END_WORDS = {
    "shared_post": "post of another line",
    "existing_post": "post that stands already",
    "closing": "first post",
}
ROUTING_WORDS = {
    "line": "straight through",
    "end": "one face",
    "corner": "corner",
    "three_way": "three faces",
    "blank": "no face",
    "none": "not routed",
}


@register.filter
def end_words(kind: str) -> str:
    """Say what a section runs to."""
    return END_WORDS.get(kind, kind.replace("_", " "))


@register.filter
def routing_words(routing: str) -> str:
    """Say which faces of a post take rails."""
    return ROUTING_WORDS.get(routing, routing.replace("_", " "))
