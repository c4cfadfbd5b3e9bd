//! Constants across the border: integers with names, each checked on entry, never an enum.

use crate::failure::Failure;
use crate::status::CPOISE_UNKNOWN_CONSTANT;

/// An enum of the mathematics whose variants have numbers in C. They begin at 1, so that a zero that was forgotten is
/// refused and never taken for a choice.
pub trait Constant: Sized {
    /// What is chosen, in words.
    const WORDS: &'static str;
    /// The variant of a number.
    fn of_number(number: i32) -> Option<Self>;
    /// The number of a variant; 0 for one that has none yet.
    fn number(self) -> i32;
}

/// The variant that the caller chose.
pub fn chosen<T: Constant>(number: i32) -> Result<T, Failure> {
    T::of_number(number).ok_or_else(|| {
        Failure::new(
            CPOISE_UNKNOWN_CONSTANT,
            format_args!("{} {number} is not known: take one of the constants in the header", T::WORDS),
        )
    })
}

/// Names and numbers of an enum's variants. The header is made from these lines.
macro_rules! constants {
    ($(
        $(#[$about:meta])*
        $Type:ident, $words:literal {
            $( $(#[doc = $doc:literal])* $NAME:ident = $number:literal => $Variant:ident, )+
        }
    )+) => { $(
        $( $(#[doc = $doc])* pub const $NAME: i32 = $number; )+

        impl $crate::constant::Constant for $Type {
            const WORDS: &'static str = $words;

            fn of_number(number: i32) -> Option<Self> {
                match number {
                    $( $number => Some(Self::$Variant), )+
                    _ => None,
                }
            }

            fn number(self) -> i32 {
                #[allow(unreachable_patterns)]
                match self {
                    $( Self::$Variant => $number, )+
                    _ => 0,
                }
            }
        }
    )+ };
}
