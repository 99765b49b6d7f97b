"""What other apps may hear of the stock room.

Sent inside the transaction of the change; a receiver may only ask for a job.
"""

from django.dispatch import Signal

lot_analysed = Signal()
"""An analysis was recorded. Arguments: ``lot_id``, ``kind``, ``by``.

Sent for the lot and for each that goes on from it of which the sample is true.
"""

lot_released = Signal()
"""A lot may be used from now on: released, or made by work. Arguments: ``lot_id``, ``by``."""

lot_moved = Signal()
"""A lot was carried to another storage place, where it ages differently, or that was taken back.
Arguments: ``lot_id``, ``by``.

Sent for the lot and for each that went on from it since the day of the move.
"""

reservations_lost = Signal()
"""A count or rejection ended reservations. Arguments: ``conversion_ids``, ``lot_id``, ``by``.

Whether work is short is read from how its reservations ended, so nothing needs marking.
"""
