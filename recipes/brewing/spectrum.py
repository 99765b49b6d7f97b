"""The colour of beer on a screen, computed from how beer absorbs light.

Beers differ in how much they absorb and hardly in which colours: spectra divided by their
absorbance at 430 nm, which is what SRM measures, lie close together. So SRM and the average shape
give the light that passes a glass, and the eye and the screen are standards:

1. absorbance at each wavelength = SRM / 12.7 * path in cm * shape, the shape being A. J. deLange's
   two exponentials through the average of 99 beers; light passed = 10^-absorbance;
2. daylight (CIE D65, the white of the screen's own standard, so that nothing has to be adapted)
   times light passed times the CIE 1931 observer, 380 to 780 nm in steps of 5, gives X, Y and Z;
3. the matrix of IEC 61966-2-1 gives linear red, green and blue. Each is divided by what an empty
   glass gives, so that water is exactly white (a correction of 0.3 %, for the observer is a fit);
   then cut to what a screen can show and given the standard's curve.

>>> beer_colour(4).hex
'#e7ab30'
>>> beer_colour(4, path_cm=1.0).hex
'#fbecc3'

Sources: A. J. deLange, "Color", in C. W. Bamforth (ed.), Brewing Materials and Processes (2016),
after J. ASBC 66:143 (2008); the coefficients were read in pages that quote the chapter. The
observer: C. Wyman, P.-P. Sloan and P. Shirley, J. Computer Graphics Techniques 2(2), 2013, the
multi-lobe fit. CIE standard illuminant D65, every 10 nm, between which the CIE draws straight
lines. IEC 61966-2-1 (sRGB).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from boxwort.working import Term, Working, not_negative, positive

SPECTRUM_SOURCE = (
    'A. J. deLange, "Color", in Brewing Materials and Processes (2016), average of 99 beers; '
    "CIE 1931 observer by the fit of Wyman, Sloan and Shirley (2013); CIE illuminant D65"
)
SCREEN_SOURCE = "IEC 61966-2-1 (sRGB)"

SRM_PER_A430 = 12.7
REFERENCE_NM = 430.0
GLASS_CM = 5.0
_SHAPE = ((0.02465, 17.591), (0.97535, 82.122))  # weight, and nm in which it falls to 1/e

_NM: NDArray[np.float64] = np.arange(380.0, 781.0, 5.0)
_D65: NDArray[np.float64] = np.interp(
    _NM,
    np.arange(380.0, 781.0, 10.0),
    (
        *(49.9755, 54.6482, 82.7549, 91.4860, 93.4318, 86.6823, 104.865, 117.008, 117.812),
        *(114.861, 115.923, 108.811, 109.354, 107.802, 104.790, 107.689, 104.405, 104.046),
        *(100.000, 96.3342, 95.7880, 88.6856, 90.0062, 89.5991, 87.6987, 83.2886, 83.6992),
        *(80.0268, 80.2146, 82.2778, 78.2842, 69.7213, 71.6091, 74.3490, 61.6040, 69.8856),
        *(75.0870, 63.5927, 46.4182, 66.8054, 63.3828),
    ),
)
# of X, Y and Z: height, nm of the top, and one over the spread in nm on either side of it
_LOBES = (
    (
        (0.362, 442.0, 0.0624, 0.0374),
        (1.056, 599.8, 0.0264, 0.0323),
        (-0.065, 501.1, 0.0490, 0.0382),
    ),
    ((0.821, 568.8, 0.0213, 0.0247), (0.286, 530.9, 0.0613, 0.0322)),
    ((1.217, 437.0, 0.0845, 0.0278), (0.681, 459.0, 0.0385, 0.0725)),
)
XYZ_TO_LINEAR = np.array(
    ((3.2406, -1.5372, -0.4986), (-0.9689, 1.8758, 0.0415), (0.0557, -0.2040, 1.0570))
)
_STRAIGHT_TO = 0.0031308


@dataclass(frozen=True, kw_only=True)
class BeerColour:
    """A colour for a screen: red, green and blue from 0 to 255, and how it was come by."""

    red: int
    green: int
    blue: int
    working: Working

    @property
    def hex(self) -> str:
        """Return it as style sheets write it."""
        return f"#{self.red:02x}{self.green:02x}{self.blue:02x}"


def absorption_shape(nm: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return what average beer absorbs at each wavelength, as a multiple of that at 430 nm.

    >>> absorption_shape(np.array([430.0, 550.0, 700.0]))
    array([1.    , 0.2263, 0.0364])
    """
    (fast, fast_nm), (slow, slow_nm) = _SHAPE
    beyond = nm - REFERENCE_NM
    shape: NDArray[np.float64] = fast * np.exp(-beyond / fast_nm) + slow * np.exp(-beyond / slow_nm)
    return shape


def observer(nm: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the CIE 1931 2-degree observer's x, y and z at each wavelength, three rows."""
    return np.array([sum(_lobe(nm, *lobe) for lobe in lobes) for lobes in _LOBES])


def beer_colour(srm: float, path_cm: float = GLASS_CM) -> BeerColour:
    """Return the colour of a beer as a screen shows it.

    Parameters
    ----------
    srm: colour of the beer.
    path_cm: width of beer that is looked through; a wider glass looks darker.
    """
    not_negative("colour", srm)
    positive("width of the glass", path_cm)
    absorbance = srm / SRM_PER_A430 * path_cm
    seen = _seen(10 ** (-absorbance * absorption_shape(_NM)))
    linear = XYZ_TO_LINEAR @ seen / (XYZ_TO_LINEAR @ _EMPTY_GLASS)
    parts = tuple(
        _channel(name, seen, row, float(share))
        for name, row, share in zip(("Red", "Green", "Blue"), XYZ_TO_LINEAR, linear, strict=True)
    )
    red, green, blue = (round(part.value) for part in parts)
    return BeerColour(
        red=red,
        green=green,
        blue=blue,
        working=Working(
            name="Light through the glass",
            formula=(
                "100 * Y; X, Y, Z = daylight * observer * 10^(-A * shape), summed from 380 to "
                "780 nm; A = SRM / 12.7 * width; shape = 0.02465 e^(-(nm - 430) / 17.591) + "
                "0.97535 e^(-(nm - 430) / 82.122)"
            ),
            terms=(
                Term(name="SRM", value=srm, unit="SRM"),
                Term(name="width", value=path_cm, unit="cm"),
                Term(name="A", value=absorbance, unit="absorbance at 430 nm"),
                *_tristimulus(seen),
            ),
            value=float(seen[1]) * 100,
            unit="%",
            source=SPECTRUM_SOURCE,
            notes=(
                "Average beer in daylight: a fruit beer, say, of this SRM looks otherwise.",
                *(
                    ("Deeper than a screen can show; the nearest it can is shown.",)
                    if linear.min() < 0
                    else ()
                ),
            ),
            parts=parts,
        ),
    )


def screen_level(linear: float) -> float:
    """Return the level, 0-1, that a screen is sent for a share of its light, cut to 0-1.

    >>> screen_level(0.5)
    0.7354
    """
    light = min(1.0, max(0.0, linear))
    if light <= _STRAIGHT_TO:
        return 12.92 * light
    return 1.055 * float(light ** (1 / 2.4)) - 0.055


def _lobe(
    nm: NDArray[np.float64], height: float, top: float, before: float, after: float
) -> NDArray[np.float64]:
    spread = np.where(nm < top, before, after)
    lobe: NDArray[np.float64] = height * np.exp(-0.5 * ((nm - top) * spread) ** 2)
    return lobe


_DAYLIGHT_SEEN: NDArray[np.float64] = observer(_NM) * _D65


def _seen(passed: NDArray[np.float64] | float) -> NDArray[np.float64]:
    """Return X, Y and Z of daylight of which a share passes; Y of daylight itself is 1."""
    seen: NDArray[np.float64] = (_DAYLIGHT_SEEN * passed).sum(axis=1) / _DAYLIGHT_SEEN[1].sum()
    return seen


_EMPTY_GLASS = _seen(1.0)


def _tristimulus(seen: NDArray[np.float64]) -> tuple[Term, ...]:
    return tuple(
        Term(name=name, value=float(value), unit="")
        for name, value in zip("XYZ", seen, strict=True)
    )


def _channel(
    name: str, seen: NDArray[np.float64], row: NDArray[np.float64], linear: float
) -> Working:
    weights = " + ".join(f"{weight:g} {axis}" for weight, axis in zip(row, "XYZ", strict=True))
    return Working(
        name=name,
        formula=(
            f"255 * (1.055 * light^(1/2.4) - 0.055), or 255 * 12.92 * light up to 0.0031308; "
            f"light = ({weights.replace('+ -', '- ')}) / the same of an empty glass, cut to 0-1"
        ),
        terms=(*_tristimulus(seen), Term(name="light before the cut", value=linear, unit="")),
        value=255 * screen_level(linear),
        unit="of 255",
        source=SCREEN_SOURCE,
    )
