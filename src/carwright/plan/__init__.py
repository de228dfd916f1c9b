"""The fixed list of stages from a car file and a shelf to a plan."""

from __future__ import annotations

from carwright.plan.document import Document, document_of
from carwright.plan.model import BuyLine, Plan
from carwright.plan.stages import make_plan

__all__ = ["BuyLine", "Document", "Plan", "document_of", "make_plan"]
