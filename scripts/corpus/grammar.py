"""The phrases of the tool's own grammar files (JSGF): every way to say a rule, once."""

import re
from pathlib import Path

FOLDER = Path(__file__).resolve().parents[2] / "grammars" / "en-US"
TOKEN = re.compile(r"\{[^}]*\}|/[^/]*/|<[^>]+>|[()\[\]|*+]|[\w']+")


def rules(name):
    """The rules of one file, each as its tokens, without tags and weights."""
    text = re.sub(r"//.*", "", (FOLDER / f"{name}.jsgf").read_text(encoding="utf-8"))
    found = re.findall(r"(?:public\s+)?<(\w+)>\s*=\s*([^;]*);", text)
    kept = {rule: TOKEN.findall(body) for rule, body in found}
    return {rule: [t for t in body if t[0] not in "{/"] for rule, body in kept.items()}


class Expansion:
    """Every phrase of a rule, as tuples of words. What may be repeated is said at most once more."""

    def __init__(self, name):
        self.rules = rules(name)

    def phrases(self, rule):
        words, rest = self.alternatives(self.rules[rule])
        assert not rest, rest
        return list(dict.fromkeys(words))

    def alternatives(self, tokens):
        ways, tokens = self.sequence(tokens)
        while tokens and tokens[0] == "|":
            more, tokens = self.sequence(tokens[1:])
            ways = ways + more
        return ways, tokens

    def sequence(self, tokens):
        ways = [()]
        while tokens and tokens[0] not in ("|", ")", "]"):
            part, tokens = self.part(tokens)
            if tokens and tokens[0] in "*+":
                once = part if tokens[0] == "+" else [(), *part]
                part, tokens = once + [a + a for a in part], tokens[1:]
            ways = [a + b for a in ways for b in part]
        return ways, tokens

    def part(self, tokens):
        first, tokens = tokens[0], tokens[1:]
        if first in "([":
            ways, tokens = self.alternatives(tokens)
            return (ways if first == "(" else [(), *ways]), tokens[1:]
        if first[0] == "<":
            return self.phrases(first[1:-1]), tokens
        return [(first,)], tokens


def phrases(name, rule):
    """Every phrase of a rule as text, in the order of the file."""
    return [" ".join(words) for words in Expansion(name).phrases(rule)]


def choices():
    """Every phrase of every public rule of the answers, with the rule's name."""
    expansion = Expansion("choices")
    return [(" ".join(w), rule) for rule in expansion.rules for w in expansion.phrases(rule)]
