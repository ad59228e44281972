"""The shape of a free grass fire: an ellipse, its flanks and its back."""

from typing import Any

import numpy as np

from mapper.farm.ranged import Array, possible


def length_to_breadth(wind_km_h: Any) -> Array:
    """Return length over breadth of a grass fire: 1.1 U^0.464, and 1 (a circle) below 1 km/h.

    Source: Alexander (1985), second-hand; fits the published table of Cruz, Alexander & Kilinc (2022) for 30-75 km/h.
    Below 1 km/h after the Canadian system (from memory). wind at 10 m.
    """
    wind = possible("wind", wind_km_h, 0, 300)
    return np.where(wind < 1, np.where(np.isnan(wind), np.nan, 1.0), 1.1 * np.maximum(wind, 1e-9) ** 0.464)


def ellipse_axes(lb: Any) -> tuple[Array, Array, Array]:
    """Return half length, shift and half breadth of the fire after one unit of time, as shares of the head rate.

    An ellipse with its rear focus at the start: h^2 = f^2 - g^2, f + g = 1, f - g the back. lb: length over breadth.
    """
    ratio = possible("length to breadth", lb, 1, 100)
    c = np.sqrt(1 - 1 / ratio**2)
    back = (1 - c) / (1 + c)
    return (1 + back) / 2, (1 - back) / 2, (1 + back) / (2 * ratio)


def back_share(lb: Any) -> Array:
    """Return the back's rate over the head's."""
    f, g, _ = ellipse_axes(lb)
    return np.asarray(f - g)


def normal_speed(head_m_s: Any, lb: Any, angle_deg: Any) -> Array:
    """Return the speed (m/s) of the fire's edge along its own normal, angle_deg from where the wind blows to.

    v / head = g cos t + sqrt(h^2 + (f^2 - h^2) cos^2 t), of the ellipse with its rear focus at the start.
    """
    f, g, h = ellipse_axes(lb)
    cos = np.cos(np.radians(angle_deg))
    return np.asarray(head_m_s * (g * cos + np.sqrt(h**2 + (f**2 - h**2) * cos**2)))


def support_direction(lb: Any, angle_deg: Any) -> Array:
    """Return the bearing (degrees from downwind, signed) of the point of the fire whose normal is at angle_deg."""
    f, g, h = ellipse_axes(lb)
    t = np.radians(angle_deg)
    cos, sin = np.cos(t), np.sin(t)
    q = np.sqrt(h**2 + (f**2 - h**2) * cos**2)
    return np.asarray(np.degrees(np.arctan2(h**2 * sin / q, g + f**2 * cos / q)))
