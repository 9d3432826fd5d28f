"""The sources of uncertainty that are told apart: why each is as large as it is, and what would lessen it."""

from collections.abc import Mapping

# Source -> why it is as large as it is, what lessens it.
SOURCES: Mapping[str, tuple[str, str]] = {
    "scatter": (
        "Readings scatter, and so do visits: what was special about one visit shifts all its readings alike.",
        "Drive there again, coming from below and from above.",
    ),
    "transients": (
        "Fuel on the walls and the manifold's own filling blur the mixture where airflow changes.",
        "Hold engine speed and throttle for a few seconds there; at full throttle pull in a higher gear.",
    ),
    "vapour": (
        "Purge worked there; how much vapour each episode brings is known to a part only.",
        "Unplug the purge valve for the test drive and close its hoses, or drive there with purge off.",
    ),
    "purge unseen": (
        "Purge is not logged and may have worked unseen.",
        "Log purge, or unplug its valve for the test drive and close its hoses.",
    ),
    "delay": (
        "It is known only so far which moment at the engine a reading of the wideband belongs to; polling adds to it.",
        "Log faster, with steps of throttle or load, or state the delay.",
    ),
    "trim rounding": (
        "The long-term trim is logged in steps.",
        "Log more trim levels: drive when the trims have just been reset.",
    ),
    "open-loop trims": (
        "It is not known whether the trims that are logged in open loop act there.",
        "Reset the trims before the drive, or drive part throttle up to the airflow of full throttle.",
    ),
    "which bank": (
        "The wideband sits in one of two banks whose trims differ, and its channel does not say in which.",
        "Rename its channel, as in 'Lambda bank 1', or drive with long trims that have learnt the difference.",
    ),
    "between drives": (
        "Drives of one car differ by weather and fuel.",
        "Drive again on another day.",
    ),
    "instrument and loop": (
        "The wideband's tolerance, and the mixture at which the ECU's own sensor switches, shift everything alike.",
        "Check the wideband in a known gas or against another one, and state its tolerance in the settings.",
    ),
    "oxygen store": (
        "The wideband sits behind a catalyst, or may: oxygen from its store and a long way blur the readings.",
        "Fit the wideband ahead of the catalyst, or state that it sits there; hold full throttle for longer.",
    ),
    "smoothing": (
        "How smooth the true table is, is itself known only so far; where readings are few it decides.",
        "Drive there again, and hold the signal near the breakpoint.",
    ),
    "few passes": (
        "The readings come from few passes, and what was special about one of them is in all of its readings.",
        "Drive through there again, at another time, coming from below and from above.",
    ),
    "gap": (
        "No reading lies near this breakpoint: it follows from its neighbours, and the curve may bend between them.",
        "Drive there.",
    ),
    "contradiction": (
        "Parts of the evidence say different things there.",
        "Find out what they differ by before trusting this cell.",
    ),
}
