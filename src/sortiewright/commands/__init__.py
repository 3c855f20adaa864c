"""The commands: each reads its arguments, makes one call into the library and prints what comes back.

Light on purpose: ``sortiewright --help`` and shell completion read these modules, so what is heavy (numpy,
pydantic, matplotlib, typst) is imported inside the command that needs it. The groups ``calc`` and ``pack``
are named in ``cli`` and imported when one of their commands is asked for.
"""

from sortiewright.commands.calibrate import calibrate
from sortiewright.commands.cards import cards
from sortiewright.commands.chart import chart
from sortiewright.commands.debrief import debrief
from sortiewright.commands.demo import demo
from sortiewright.commands.desk import desk
from sortiewright.commands.faults import fault_lines, usage_lines
from sortiewright.commands.fly import fly
from sortiewright.commands.help_page import HelpPage
from sortiewright.commands.plan import plan
from sortiewright.commands.route import route

__all__ = [
    "HelpPage",
    "calibrate",
    "cards",
    "chart",
    "debrief",
    "demo",
    "desk",
    "fault_lines",
    "fly",
    "plan",
    "route",
    "usage_lines",
]
