"""What is laid out with a medicine in a syringe, whatever it is drawn up from: the syringe, its label, its cap."""

from prepkit.kit.ward import SyringeStock
from prepkit.rules.findings import Finding, Kind, finding


def list_syringe_parts(syringe: SyringeStock, count: int = 1, label_class: str | None = None) -> tuple[Finding, ...]:
    """List the syringes and what each needs; `label_class` is that of ISO 26825, where the medicine has one.

    A vein's syringe goes to its line as it is; one for the mouth or the trachea is carried to the cot, and is capped.
    """
    route = syringe.route
    return (
        finding(Kind.PART_SYRINGE, count=count, holds=syringe.holds, route=route),
        finding(Kind.PART_LABEL, count=count, route=route, label_class=label_class),
        *((finding(Kind.PART_CAP, count=count),) if route != "intravenous" else ()),
    )
