"""Nesting: arranging panels on sheets with little waste."""

from lasernest.nesting.arranging import arrange
from lasernest.nesting.budget import Budget
from lasernest.nesting.check import plan_problems
from lasernest.nesting.warming import warm_up

__all__ = ["Budget", "arrange", "plan_problems", "warm_up"]
