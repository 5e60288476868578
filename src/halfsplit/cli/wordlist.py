"""The page of words: python -m halfsplit.cli.wordlist > docs/words.md"""

from __future__ import annotations

from halfsplit.glossary import WORDS

__all__ = ["wordlist"]


def wordlist() -> str:
    """Our words and what they mean, as Markdown."""
    rows = "".join(f"| {word} | {meaning} |\n" for word, meaning in WORDS.items())
    return (
        "# Words\n\nOne meaning each, in the pages, the record and the commands. Made from the "
        "program; to renew it:\n`python -m halfsplit.cli.wordlist > docs/words.md`\n\n"
        f"| word | means |\n|---|---|\n{rows}"
    )


if __name__ == "__main__":
    print(wordlist(), end="")
