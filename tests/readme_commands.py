"""Print one of the two commands under "## Run it" in README.md, so that what is checked is what is read.

Usage: python tests/readme_commands.py 1|2
"""

import re
import sys
from pathlib import Path

README = Path(__file__).parents[1] / "README.md"


def commands(text: str) -> list[str]:
    """Return the commands: each a bash block of one line in the section "Run it"."""
    section = re.search(r"^## Run it$(.*?)(?=^## |\Z)", text, re.MULTILINE | re.DOTALL)
    if section is None:
        message = 'README.md has no section "## Run it"'
        raise ValueError(message)
    blocks = re.findall(r"^```bash\n(.*?)^```$", section.group(1), re.MULTILINE | re.DOTALL)
    found = [re.sub(r"\s*\\\n\s*", " ", block).strip() for block in blocks]
    if len(found) != 2 or any("\n" in command for command in found):
        message = 'README.md: "## Run it" needs exactly two bash blocks of one command line each'
        raise ValueError(message)
    return found


if __name__ == "__main__":
    sys.stdout.write(commands(README.read_text(encoding="utf-8"))[int(sys.argv[1]) - 1] + "\n")
