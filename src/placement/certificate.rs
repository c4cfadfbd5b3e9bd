//! The certificate: what is proven of an answer, and what no placement falls below.

/// What is proven of an answer.
///
/// ```
/// use counterpoise::PlacementProof;
/// assert_ne!(PlacementProof::Best, PlacementProof::Stopped);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(rename_all = "snake_case"))]
#[non_exhaustive]
pub enum PlacementProof {
    /// No placement within the limits is better.
    Best,
    /// No placement within the limits leaves as little as eps. The nearest one found is given; whether another comes
    /// nearer, above eps, is not proven: ask for the least residual to know.
    NoneWithin,
    /// No placement in at most so many holes is better; more holes were not looked at to the end.
    BestInHoles(usize),
    /// No placement that handles at most so many pieces is better; more pieces were not looked at to the end.
    BestInPieces(u32),
    /// The search was stopped before anything was proven but the lower bound.
    Stopped,
}

impl PlacementProof {
    /// The stable number, the same in Rust and in C.
    ///
    /// ```
    /// assert_eq!(counterpoise::PlacementProof::Best.code(), 1);
    /// ```
    pub const fn code(self) -> i32 {
        match self {
            Self::Best => 1,
            Self::NoneWithin => 2,
            Self::BestInHoles(_) => 3,
            Self::BestInPieces(_) => 4,
            Self::Stopped => 5,
        }
    }
}

/// How good an answer is known to be.
///
/// With the feature `serde` it is written and not read: a certificate read from a text would claim what nothing has proven.
///
/// ```
/// # use counterpoise::PlacementAnswer;
/// # fn show(answer: &PlacementAnswer) {
/// let certificate = answer.certificate();
/// println!("{:?}; no placement leaves less than {}", certificate.proof(), certificate.lower_bound());
/// # }
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub struct PlacementCertificate {
    pub(super) proof: PlacementProof,
    #[cfg_attr(feature = "serde", serde(serialize_with = "super::wire::finite"))]
    pub(super) lower_bound: f64,
    pub(super) steps: u64,
    pub(super) out_of_memory: bool,
}

impl PlacementCertificate {
    /// What is proven.
    ///
    /// ```
    /// # use counterpoise::{PlacementCertificate, PlacementProof};
    /// # fn show(certificate: &PlacementCertificate) -> PlacementProof {
    /// certificate.proof()
    /// # }
    /// ```
    pub const fn proof(&self) -> PlacementProof {
        self.proof
    }

    /// Whether the search came to its end: nothing better is possible within the limits.
    ///
    /// ```
    /// # fn show(certificate: &counterpoise::PlacementCertificate) -> bool {
    /// certificate.is_proven()
    /// # }
    /// ```
    pub const fn is_proven(&self) -> bool {
        matches!(self.proof, PlacementProof::Best | PlacementProof::NoneWithin)
    }

    /// What the residual of no placement within the limits falls below; eps, where none is within it.
    ///
    /// ```
    /// # fn show(certificate: &counterpoise::PlacementCertificate) -> f64 {
    /// certificate.lower_bound()
    /// # }
    /// ```
    pub const fn lower_bound(&self) -> f64 {
        self.lower_bound
    }

    /// How many steps were spent.
    ///
    /// ```
    /// # fn show(certificate: &counterpoise::PlacementCertificate) -> u64 {
    /// certificate.steps()
    /// # }
    /// ```
    pub const fn steps(&self) -> u64 {
        self.steps
    }

    /// Whether the search ended because the rest does not fit into the memory allowed.
    ///
    /// ```
    /// # fn show(certificate: &counterpoise::PlacementCertificate) -> bool {
    /// certificate.out_of_memory()
    /// # }
    /// ```
    pub const fn out_of_memory(&self) -> bool {
        self.out_of_memory
    }
}
