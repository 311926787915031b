"""Claims of a text held against what was computed, and what made a wrong one wrong."""

from borestudy.claims.bench import Bench
from borestudy.claims.judge import AGREES, DISAGREES, UNDECIDED, Judgement, judge
from borestudy.claims.table import claims_table

__all__ = ["AGREES", "DISAGREES", "UNDECIDED", "Bench", "Judgement", "claims_table", "judge"]
