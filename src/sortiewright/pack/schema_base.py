"""The base of every pack and sortie model: strict keys, frozen values, SI inside."""

from __future__ import annotations

from pydantic import BaseModel, ConfigDict


class Model(BaseModel):
    """A frozen record that refuses unknown keys, infinity and not-a-number."""

    model_config = ConfigDict(
        frozen=True, extra="forbid", arbitrary_types_allowed=True, validate_default=False, allow_inf_nan=False
    )
