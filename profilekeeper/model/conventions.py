"""How what a control's screen says maps to the geometry: signs, and what a tool length is."""

from __future__ import annotations

from dataclasses import dataclass

from profilekeeper.model.profile import Profile
from profilekeeper.quantities import Length

__all__ = ["DIFFERENCE", "NOSE_TO_TIP", "Z_AT_TOUCH", "Conventions", "conventions_of"]

NOSE_TO_TIP = "nose to tip"
DIFFERENCE = "difference from master tool"
Z_AT_TOUCH = "Z at touch on the table"


@dataclass(frozen=True, slots=True, kw_only=True)
class Conventions:
    """What a profile says of its control's habits; None where it says nothing.

    Units:   as stored. What is not said is taken as the schema tells: Z up is positive (ISO 841), lengths
             positive from nose to tip, work zeros added.
    """

    z_up: str | None
    length_sign: str | None
    length_kind: str | None
    master_tool: str | None
    master_length: Length | None
    offset_sign: str | None
    swivel_wraps: bool | None

    @property
    def kind(self) -> str:
        """What a tool length is, with the usual meaning where nothing is said."""
        return self.length_kind or NOSE_TO_TIP

    def up(self, z: Length) -> Length:
        """A Z reading, or a distance along Z, counted positive upwards (ISO 841)."""
        return -z if self.z_up == "negative" else z

    def shown(self, z_up: Length) -> Length:
        """An upward Z as the screen shows it: the inverse of `up`."""
        return self.up(z_up)

    def noted(self, length: Length) -> Length:
        """A tool length as the screen shows it, with the sign it has in the geometry.

        A length that is a Z reading follows `z_up`, any other `length_sign`.
        """
        if self.kind == Z_AT_TOUCH:
            return self.up(length)
        return -length if self.length_sign == "negative" else length

    def noted_as_shown(self, length: Length) -> Length:
        """The inverse of `noted`."""
        return self.noted(length)


def conventions_of(profile: Profile) -> Conventions:
    """The conventions of a profile."""
    said = profile.root.at("conventions")
    return Conventions(
        z_up=said.text("z_up"),
        length_sign=said.text("length_sign"),
        length_kind=said.text("length_kind"),
        master_tool=said.text("master_tool"),
        master_length=said.length("master_length"),
        offset_sign=said.text("offset_sign"),
        swivel_wraps=said.flag("swivel_wraps"),
    )
