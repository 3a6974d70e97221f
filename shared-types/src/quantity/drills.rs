//! Number and letter drills in inches (ASME B94.11M twist drill sizes).
//!
//! Sizes 52, 41, 37, 30, 22 and 12 were read in published hole tables; the
//! others are from memory of the standard's table, which every drill gauge repeats.

/// A drill by its name.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Drill {
    /// `#1` to `#80`.
    Number(u8),
    /// `A` to `Z`.
    Letter(char),
}

impl Drill {
    /// The drill's diameter in inches; `None` for a name the tables do not have.
    #[must_use]
    pub fn inches(self) -> Option<f64> {
        match self {
            Self::Number(number) => NUMBER_DRILLS.get(usize::from(number.checked_sub(1)?)).copied(),
            Self::Letter(letter) => {
                let place = u32::from(letter.to_ascii_uppercase()).checked_sub(u32::from('A'))?;
                LETTER_DRILLS.get(usize::try_from(place).ok()?).copied()
            }
        }
    }
}

/// Drills `#1` to `#80`, in inches, largest first.
pub const NUMBER_DRILLS: [f64; 80] = [
    0.2280, 0.2210, 0.2130, 0.2090, 0.2055, 0.2040, 0.2010, 0.1990, 0.1960, 0.1935, // 1 to 10
    0.1910, 0.1890, 0.1850, 0.1820, 0.1800, 0.1770, 0.1730, 0.1695, 0.1660, 0.1610, // 11 to 20
    0.1590, 0.1570, 0.1540, 0.1520, 0.1495, 0.1470, 0.1440, 0.1405, 0.1360, 0.1285, // 21 to 30
    0.1200, 0.1160, 0.1130, 0.1110, 0.1100, 0.1065, 0.1040, 0.1015, 0.0995, 0.0980, // 31 to 40
    0.0960, 0.0935, 0.0890, 0.0860, 0.0820, 0.0810, 0.0785, 0.0760, 0.0730, 0.0700, // 41 to 50
    0.0670, 0.0635, 0.0595, 0.0550, 0.0520, 0.0465, 0.0430, 0.0420, 0.0410, 0.0400, // 51 to 60
    0.0390, 0.0380, 0.0370, 0.0360, 0.0350, 0.0330, 0.0320, 0.0310, 0.0292, 0.0280, // 61 to 70
    0.0260, 0.0250, 0.0240, 0.0225, 0.0210, 0.0200, 0.0180, 0.0160, 0.0145, 0.0135, // 71 to 80
];

/// Drills `A` to `Z`, in inches.
pub const LETTER_DRILLS: [f64; 26] = [
    0.2340, 0.2380, 0.2420, 0.2460, 0.2500, 0.2570, 0.2610, 0.2660, 0.2720, // A to I
    0.2770, 0.2810, 0.2900, 0.2950, 0.3020, 0.3160, 0.3230, 0.3320, 0.3390, // J to R
    0.3480, 0.3580, 0.3680, 0.3770, 0.3860, 0.3970, 0.4040, 0.4130, // S to Z
];
