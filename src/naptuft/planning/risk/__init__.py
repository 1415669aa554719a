"""Replays of a plan against spreads: how likely each order is on time, and what makes it late.

The replayer takes the general form, a `Problem` and its `Schedule`, so that queues, published shops and
whole books go through the same code; `of_plan` makes that form from a plan and its book.
"""
