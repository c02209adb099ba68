"""A small kit and pieces of ward files to lay over it. The kit, the wards and every figure in them are invented."""

from datetime import datetime

from trays import (
    NOW,
    find_line,
    make_kit,
    make_small_kit,
    make_small_ward,
    make_tray,
)

from prepkit.kit.read import ParsedFile
from prepkit.kit.ward import Ward
from prepkit.list.lines import ListLine, TrayList

SMALL = make_small_kit("""
[[fact]]
kind = "doses"
id = "before"
label = "Given before"
ask = "How much before?"

[[criterion]]
id = "weight-least"
text = "Weight is at least 1200 g"
where = { birth_weight = { at_least = "1200 g" } }
otherwise = "not suitable"
basis = "local"

[[criterion]]
id = "asked"
text = "It is so"
otherwise = "ask a senior"
basis = "local"

[[product]]
id = "drug"
name = "Drug"
strength = "10 mg/mL"
container = "vial"
holds = ["5 mL"]
dose = "10 mg/kg"
dose_range = { least = "5 mg/kg", most = "10 mg/kg" }
handling = ["Do not shake."]
basis = "local"

[[product]]
id = "other"
name = "Other"
strength = "5 mg/mL"
container = "vial"
holds = ["5 mL"]
dose = "10 mg/kg"
basis = "local"

[[line]]
kind = "dose"
weight = "birth"
id = "dose"
group = "all"
name = "Dose"
route = "intravenous"
products = ["drug", "other"]
earlier = "before"
essential = true
aloud = true
cautions = ["The kit's own caution."]
how = ["Slowly."]
basis = "local"

[[line]]
kind = "size"
id = "device"
group = "all"
name = "Device"
label = true
basis = "local"
[[line.method]]
by = "weight"
[[line.method.band]]
size = ["1"]
birth_weight = { at_least = "2000 g", at_most = "4000 g" }

[[line]]
kind = "depth"
id = "depth"
group = "all"
name = "Depth"
step = "0.5 cm"
basis = "local"
[[line.method]]
by = "measured"
measured = true
basis = "local"
[[line.method]]
by = "range"
low = "14 cm"
high = "16 cm"
basis = "local"

[[line]]
kind = "setting"
id = "pressure"
group = "all"
name = "Pressure"
basis = "local"
[[line.band]]
low = "5 cmH2O"
high = "8 cmH2O"

[[line]]
kind = "amount"
id = "drops"
group = "all"
name = "Drops"
route = "enteral"
basis = "local"
[[line.band]]
low = "0.1 mL"
high = "0.5 mL"

[[line]]
kind = "supply"
id = "tubes"
group = "all"
name = "Tubes"
basis = "local"
[[line.count]]
count = 2
[line.size]
by = "weight"
[[line.size.band]]
size = ["6 Fr", "8 Fr"]

[[line]]
kind = "trial"
id = "tried"
group = "all"
name = "Tried"
of = ["dose", "device"]
how = ["Try it."]
basis = "local"
""")
STOCK = """
[[syringe]]
route = "intravenous"
holds = "5 mL"
marks = "0.1 mL"
least = "0.1 mL"
[[syringe]]
route = "enteral"
holds = "1 mL"
marks = "0.1 mL"
least = "0.1 mL"
[[stock]]
product = "drug"
holds = ["5 mL"]
"""
LOCAL = '[[local]]\nkits = ["small"]\n'
DOSE = """
[[local.line]]
kind = "dose"
weight = "birth"
id = "dose"
group = "all"
name = "Dose"
route = "intravenous"
products = ["drug", "other"]
earlier = "before"
essential = true
how = ["Slowly."]
dose = "{dose}"
basis = "local"
"""
DEVICE = """
[[local.line]]
kind = "size"
id = "device"
group = "all"
name = "Device"
label = true
basis = "local"
[[local.line.method]]
by = "weight"
[[local.line.method.band]]
size = ["1"]
birth_weight = {{ at_least = "{least} g", at_most = "4000 g" }}
"""
SETTING = """
[[local.line]]
kind = "setting"
id = "pressure"
group = "all"
name = "Pressure"
basis = "local"
[[local.line.band]]
{band}
"""
CRITERION = """
[[local.criterion]]
id = "weight-least"
text = "Weight is at least {least} g"
where = {{ birth_weight = {{ at_least = "{least} g" }} }}
otherwise = "not suitable"
basis = "local"
"""
PRODUCT = """
[[product]]
id = "drug"
name = "Drug"
strength = "{strength}"
container = "vial"
holds = ["5 mL"]
dose = "{dose}"
basis = "local"
"""
ADDED = """
[[local.line]]
kind = "supply"
id = "blanket"
group = "all"
name = "Blanket"
basis = "local"
"""
QUESTION = """
[[local.criterion]]
id = "unseen"
text = "No senior has seen the baby"
otherwise = "not suitable"
basis = "local"
"""
BARE = make_small_ward(STOCK, SMALL)
LARGE = make_kit(SMALL.text.replace('id = "small"', 'id = "large"', 1))


def make(*parts: str) -> ParsedFile[Ward]:
    return make_small_ward(STOCK + LOCAL + "".join(parts), SMALL)


def list_tray(weight: int, ward: ParsedFile[Ward] | None, now: datetime = NOW, **facts: str) -> TrayList:
    return make_tray(weight, kit=SMALL, ward=ward, now=now, **facts)


def find(line: str, weight: int, ward: ParsedFile[Ward], now: datetime = NOW, **facts: str) -> ListLine:
    return find_line(line, weight, kit=SMALL, ward=ward, now=now, **facts)
