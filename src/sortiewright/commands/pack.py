"""x."""
from cyclopts import App
app=App(name="pack",help="Aircraft.")
