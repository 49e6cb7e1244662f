"""A plain replay of a book, animal by animal, over every choice of true days.

Written from the words of the pages and apart from the fold: it reads the raw log, finds what stands at a
position, gives every event one day inside its range in every possible way, and moves one token an animal.
Slow on purpose, for small books only.

The reading in one paragraph. A *world* is one choice of days of one subject's events that can be replayed.
An event counts on the latest day it has in any world, and could have counted from the earliest; the census
is the replay on those latest days; the range of a figure runs from the least to the most over all worlds.
"""

from oracle.census import Census, Faults, Oracle
from oracle.log import Fact, batch_end, standing
from oracle.worlds import CAP, Told, tell

__all__ = ["CAP", "Census", "Fact", "Faults", "Oracle", "Told", "batch_end", "standing", "tell"]
