"""The commands: each reads its arguments, makes one call into the library and prints what comes back.

Light on purpose: ``sortiewright --help`` and shell completion read every module here, so what is heavy
(numpy, pydantic, matplotlib, typst) is imported inside the command that needs it.
"""

from sortiewright.commands.calc import app as calc
from sortiewright.commands.cards import cards
from sortiewright.commands.demo import demo
from sortiewright.commands.faults import fault_lines, usage_lines
from sortiewright.commands.help_page import HelpPage
from sortiewright.commands.pack import app as pack
from sortiewright.commands.plan import plan

__all__ = ["HelpPage", "calc", "cards", "demo", "fault_lines", "pack", "plan", "usage_lines"]
