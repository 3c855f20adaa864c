"""The commands: each reads its arguments, makes one call into the library and prints what comes back.

Light on purpose: ``sortiewright --help`` and shell completion read every module here, so what is heavy
(numpy, pydantic, matplotlib, typst) is imported inside the command that needs it.
"""

from sortiewright.commands.faults import fault_lines
from sortiewright.commands.help_page import HelpPage

__all__ = ["HelpPage", "fault_lines"]
