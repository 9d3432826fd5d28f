"""A healthy car is not said to contradict itself."""

from family.judge import heard_of


def test_a_loop_that_answers_disturbances_is_not_taken_for_trims_of_the_wrong_sign() -> None:
    """Its own swing is slow and small beside what throttle and film do, so that swings come back upside down."""
    heard = heard_of(16, "A", None)
    said = (*heard.notes, *(sentence for _, sentence in heard.cautions))
    assert said
    assert not any("swings against its trims" in each for each in said)
