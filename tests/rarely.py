"""Laws whose every example is dear, such as the planning of a whole day, are searched with a part of the profile's examples."""

from hypothesis import settings

__all__ = ["rarely"]


def rarely(part: float) -> settings:
    """Return settings with this part of the examples that the profile in use would draw, at least five."""
    profile = settings.get_current_profile_name()
    return settings(max_examples=max(5, round(part * settings.get_profile(profile).max_examples)))
