//! Numbers as people write them, kept exact until they become millimetres.

/// How many millimetres (or square millimetres) one unit holds: `top` over
/// ten to the power `places`. Every unit here is exact in that form.
#[derive(Debug, Clone, Copy)]
pub(super) struct Factor {
    pub(super) top: u32,
    pub(super) places: u32,
}

impl Factor {
    pub(super) const fn new(top: u32, places: u32) -> Self {
        Self { top, places }
    }
}

/// The most digits a number may have, leading zeros not counted.
pub(super) const MOST_DIGITS: usize = 30;
/// The most digits each part of a fraction may have.
pub(super) const MOST_FRACTION_DIGITS: usize = 9;

/// A number as written.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Number {
    /// `digits` over ten to the power `places`.
    Decimal { digits: u128, places: u32 },
    /// A fraction, a whole part already folded into `top`.
    Fraction { top: u128, bottom: u128 },
}

impl Number {
    /// The number times a unit, rounded once.
    pub(super) fn times(self, factor: Factor) -> f64 {
        match self {
            Self::Decimal { digits, places } => {
                // The reader of decimal text in the standard library rounds
                // correctly, so the exact product is handed to it as text.
                let top = digits * u128::from(factor.top);
                let text = format!("{top}e-{}", places + factor.places);
                text.parse().unwrap_or(f64::INFINITY)
            }
            Self::Fraction { top, bottom } => {
                quotient(top * u128::from(factor.top), bottom * 10_u128.pow(factor.places))
            }
        }
    }

    /// Two numbers, each times its unit, added and rounded once where that
    /// can be done.
    pub(super) fn sum(a: (Self, Factor), b: (Self, Factor)) -> f64 {
        let exact = a.0.over(a.1).zip(b.0.over(b.1)).and_then(|(a, b)| {
            let left = a.0.checked_mul(b.1)?;
            let right = b.0.checked_mul(a.1)?;
            Some((left.checked_add(right)?, a.1.checked_mul(b.1)?))
        });
        match exact {
            Some((top, bottom)) => quotient(top, bottom),
            None => a.0.times(a.1) + b.0.times(b.1),
        }
    }

    /// Whether it is a fraction whose bottom is no power of two.
    pub(super) fn is_odd_fraction(self) -> bool {
        matches!(self, Self::Fraction { bottom, .. } if !bottom.is_power_of_two())
    }

    fn over(self, factor: Factor) -> Option<(u128, u128)> {
        let (top, bottom) = match self {
            Self::Decimal { digits, places } => (digits, 10_u128.checked_pow(places)?),
            Self::Fraction { top, bottom } => (top, bottom),
        };
        let top = top.checked_mul(u128::from(factor.top))?;
        let bottom = bottom.checked_mul(10_u128.checked_pow(factor.places)?)?;
        let common = divisor(top, bottom);
        Some((top / common, bottom / common))
    }
}

/// One division of two whole numbers, brought to lowest terms first.
#[allow(clippy::cast_precision_loss, reason = "exact below 2^53, which bench fractions are")]
fn quotient(top: u128, bottom: u128) -> f64 {
    let common = divisor(top, bottom);
    (top / common) as f64 / (bottom / common) as f64
}

/// Greatest common divisor, never 0.
fn divisor(mut a: u128, mut b: u128) -> u128 {
    while b != 0 {
        (a, b) = (b, a % b);
    }
    a.max(1)
}
