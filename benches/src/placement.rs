//! Placement problems as plain numbers, from which the question here and the model of a general solver are both made.

#![allow(clippy::disallowed_methods, reason = "a comparison of its own, not the library")]

use std::collections::BTreeSet;
use std::error::Error;

use counterpoise::{
    Channel, Detector, Hardware, Hole, HoleRing, Influence, InfluenceMatrix, Mass, PhaseSense, Placement,
    PlacementNorm, PlacementQuestion, Radius, RotorSense, Speed, SpeedWindow, UnbalanceVector, Vibration,
    VibrationScale, VibrationUnit,
};

/// A kind of piece.
#[derive(Clone, Debug)]
pub struct Piece {
    /// In g; negative for material taken off.
    pub mass: f64,
    /// How many there are.
    pub stock: Option<u32>,
}

/// A hole.
#[derive(Clone, Debug)]
pub struct Place {
    /// With rotation.
    pub degrees: f64,
    /// In mm.
    pub radius: f64,
    /// Counted from 0.
    pub plane: usize,
    /// Of the finished stack.
    pub most_pieces: u32,
    /// Of the finished stack, in g.
    pub most_mass: Option<f64>,
    /// Per kind of piece.
    pub mounted: Vec<u32>,
    /// Whether what is mounted may come off.
    pub removable: bool,
    /// Whether the hole stays as it is.
    pub blocked: bool,
}

/// What is asked for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Aim {
    /// The least residual.
    Least,
    /// The fewest holes, then pieces, then mass within eps.
    Within(f64),
    /// The least residual for 0, 1, 2, … pieces.
    Front(u32),
}

/// One problem: `r_s = v_s − Σ_p A_sp w_p`.
#[derive(Clone, Debug)]
pub struct Instance {
    /// What it is called.
    pub name: &'static str,
    /// The hardware.
    pub pieces: Vec<Piece>,
    /// The holes.
    pub places: Vec<Place>,
    /// How many planes.
    pub planes: usize,
    /// Per row: v, and A per plane. For a wanted unbalance there is a row per plane, and A is the identity.
    pub rows: Vec<([f64; 2], Vec<[f64; 2]>)>,
    /// Whether the rows are channels with influence coefficients.
    pub vibration: bool,
    /// How large a residual is.
    pub norm: PlacementNorm,
    /// What is asked for.
    pub aim: Aim,
    /// Over all planes.
    pub most_holes: Option<usize>,
    /// In each plane.
    pub most_in_plane: Option<usize>,
    /// Put on or taken off.
    pub most_pieces: Option<u32>,
}

/// A ring of equal holes.
pub fn ring(holes: u32, radius: f64, plane: usize, most_pieces: u32, most_mass: Option<f64>) -> Vec<Place> {
    let place = |at| Place {
        degrees: 360.0 * f64::from(at) / f64::from(holes),
        radius,
        plane,
        most_pieces,
        most_mass,
        mounted: Vec::new(),
        removable: true,
        blocked: false,
    };
    (0..holes).map(place).collect()
}

impl Instance {
    /// One plane, no limits but those of the holes.
    pub fn one_plane(name: &'static str, masses: &[f64], places: Vec<Place>, wanted: [f64; 2]) -> Self {
        Self {
            name,
            pieces: masses.iter().map(|&mass| Piece { mass, stock: None }).collect(),
            places,
            planes: 1,
            rows: vec![(wanted, vec![[1.0, 0.0]])],
            vibration: false,
            norm: PlacementNorm::Euclidean,
            aim: Aim::Least,
            most_holes: None,
            most_in_plane: None,
            most_pieces: None,
        }
    }

    /// What the library is asked. Ring i holds hole i alone.
    pub fn question(&self) -> Result<PlacementQuestion, Box<dyn Error>> {
        let hardware = self.pieces.iter().map(|piece| {
            let made = Hardware::new("piece", Mass::from_grams(piece.mass)?);
            Ok(piece.stock.map_or(made.clone(), |stock| made.in_stock(stock)))
        });
        let hardware = hardware.collect::<Result<Vec<Hardware>, Box<dyn Error>>>()?;
        let rings = self.places.iter().map(|place| {
            let angle = RotorSense::WithRotation.degrees(place.degrees)?;
            let mut hole =
                Hole::new(Radius::from_millimetres(place.radius)?, angle).limit_pieces(place.most_pieces);
            if !place.mounted.is_empty() {
                hole = hole.mounted(&place.mounted);
            }
            if let Some(most) = place.most_mass {
                hole = hole.limit_mass(Mass::from_grams(most)?);
            }
            if !place.removable {
                hole = hole.fixed();
            }
            if place.blocked {
                hole = hole.block();
            }
            Ok(HoleRing::listed(vec![hole]).in_plane(place.plane))
        });
        let rings = rings.collect::<Result<Vec<HoleRing>, Box<dyn Error>>>()?;
        let mut question = if self.vibration {
            let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
            let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0)?, 1.0)?;
            let channels: Vec<Channel> = (0..)
                .zip(&self.rows)
                .map(|(sensor, _)| Channel::new(sensor, unit, PhaseSense::Lead, window))
                .collect();
            let now = self.rows.iter().map(|(v, _)| Vibration::from_components(v[0], v[1]));
            let now = now.collect::<Result<Vec<_>, _>>()?;
            // The coefficient is −A: what a weight adds.
            let influence = self
                .rows
                .iter()
                .flat_map(|(_, gain)| gain)
                .map(|a| Influence::from_components_per_gram_millimetre(-a[0], -a[1]));
            let influence =
                InfluenceMatrix::new(&channels, self.planes, &influence.collect::<Result<Vec<_>, _>>()?)?;
            PlacementQuestion::through(&rings, &hardware, &influence, &now)?
        } else {
            let wanted =
                self.rows.iter().map(|(v, _)| UnbalanceVector::from_components_gram_millimetres(v[0], v[1]));
            PlacementQuestion::new(&rings, &hardware, &wanted.collect::<Result<Vec<_>, _>>()?)?
        };
        question = question.norm(self.norm);
        if let Some(most) = self.most_holes {
            question = question.limit_holes(most);
        }
        if let Some(most) = self.most_in_plane {
            for plane in 0..self.planes {
                question = question.limit_holes_in_plane(plane, most)?;
            }
        }
        if let Some(most) = self.most_pieces {
            question = question.limit_pieces(most);
        }
        if let Aim::Within(eps) = self.aim {
            question = question.within(eps)?;
        }
        Ok(question)
    }

    /// The pieces that a placement adds (or takes off) per hole and kind.
    pub fn counts(&self, placement: &Placement) -> Vec<Vec<i64>> {
        let mut counts = vec![vec![0; self.pieces.len()]; self.places.len()];
        for change in placement.changes() {
            for &(piece, count) in &change.added {
                counts[change.ring][piece] += i64::from(count);
            }
            for &(piece, count) in &change.removed {
                counts[change.ring][piece] -= i64::from(count);
            }
        }
        counts
    }

    /// What counts of pieces leave, row by row.
    pub fn left(&self, counts: &[Vec<i64>]) -> Vec<[f64; 2]> {
        let mut moments = vec![[0.0; 2]; self.planes];
        for (place, counts) in self.places.iter().zip(counts) {
            let arm = place.arm();
            for (piece, &count) in self.pieces.iter().zip(counts) {
                #[allow(clippy::cast_precision_loss, reason = "a few pieces")]
                let mass = piece.mass * count as f64;
                moments[place.plane][0] += mass * arm[0];
                moments[place.plane][1] += mass * arm[1];
            }
        }
        let left = self.rows.iter().map(|(v, gain)| {
            gain.iter().zip(&moments).fold(*v, |left, (a, w)| {
                [left[0] - a[0] * w[0] + a[1] * w[1], left[1] - a[0] * w[1] - a[1] * w[0]]
            })
        });
        left.collect()
    }

    /// How many stacks of different net mass the first hole that is not blocked allows.
    pub fn options(&self) -> usize {
        let Some(place) = self.places.iter().find(|place| !place.blocked) else { return 0 };
        let mut masses: BTreeSet<i64> = BTreeSet::new();
        // Loads (pieces, micrograms) with one more kind at a time.
        let mut loads = vec![(0, 0)];
        let micrograms = |mass: f64| {
            #[allow(clippy::cast_possible_truncation, reason = "grams of hardware")]
            let micrograms = (mass * 1e6).round() as i64;
            micrograms
        };
        for piece in &self.pieces {
            let mut more = Vec::new();
            for &(pieces, mass) in &loads {
                for count in 0..=(place.most_pieces - pieces).min(piece.stock.unwrap_or(u32::MAX)) {
                    let heavier = mass + i64::from(count) * micrograms(piece.mass);
                    if place.most_mass.is_none_or(|most| heavier <= micrograms(most)) {
                        more.push((pieces + count, heavier));
                    }
                }
            }
            loads = more;
        }
        masses.extend(loads.iter().map(|&(_, mass)| mass));
        masses.len()
    }
}

impl Place {
    /// r exp(jβ) in mm.
    pub fn arm(&self) -> [f64; 2] {
        let (sine, cosine) = self.degrees.to_radians().sin_cos();
        [self.radius * cosine, self.radius * sine]
    }
}

/// The families: from six holes to 72, from 16 stacks a hole to a thousand, out of reach, many small masses, two planes,
/// the front of residual against pieces, and what is asked in the field. The numbers are invented.
pub fn families() -> Vec<Instance> {
    let few = [0.85, 1.63, 2.94, 5.21];
    let five = [0.31, 0.85, 2.07, 3.86, 6.98];
    let six = [0.31, 0.85, 1.63, 2.94, 5.21, 9.04];
    let eight = [0.31, 0.52, 1.12, 1.63, 2.94, 3.86, 6.98, 11.75];
    let twelve = [0.31, 0.52, 0.85, 1.12, 1.63, 2.07, 2.94, 3.86, 5.21, 6.98, 9.04, 11.75];
    let within = |instance: Instance, eps| Instance { aim: Aim::Within(eps), ..instance };
    let in_holes = |instance: Instance, most| Instance { most_holes: Some(most), ..instance };
    let one = Instance::one_plane;
    let two_planes = |name, holes| {
        let plane = |plane| ring(holes, 127.0, plane, 2, Some(12.0));
        let rows = vec![
            ([-0.215_68, 10.415_92], vec![[-0.002_364, -0.005_465], [-0.002_91, -0.001_014]]),
            ([2.011_29, -0.424_2], vec![[0.001_467, 0.004_165], [0.000_33, -0.002_262]]),
        ];
        Instance {
            planes: 2,
            rows,
            vibration: true,
            most_in_plane: Some(2),
            ..one(name, &five, plane(0).into_iter().chain(plane(1)).collect(), [0.0; 2])
        }
    };
    let field = |name, holes| within(one(name, &six, ring(holes, 127.0, 0, 3, None), [-412.3, 655.1]), 10.7);
    let ring_24_q = |name, most| {
        in_holes(one(name, &eight, ring(24, 127.0, 0, 3, Some(14.69)), [-638.669, 259.058]), most)
    };
    let wide = |name, most| {
        in_holes(one(name, &twelve, ring(72, 127.0, 0, 4, Some(20.02)), [375.087, 582.595]), most)
    };
    let ring_18 =
        |name, most| in_holes(one(name, &five, ring(18, 85.5, 0, 2, None), [409.489, -48.174]), most);
    let ring_12 =
        |name, most| in_holes(one(name, &five, ring(12, 85.5, 0, 2, None), [-56.137, 600.852]), most);
    let ring_36 = |name, most| {
        in_holes(one(name, &[0.31, 0.85, 1.63, 2.94], ring(36, 127.0, 0, 3, None), [276.793, 700.749]), most)
    };
    vec![
        field("field question, 12 holes, 6 kinds", 12),
        field("field question, 24 holes, 6 kinds", 24),
        within(
            one("fewest within 2 g mm, 24 holes", &five, ring(24, 127.0, 0, 2, None), [-1012.307, -780.127]),
            2.0,
        ),
        within(
            one(
                "fewest within 8, small masses",
                &[1.12, 1.63, 2.07],
                ring(24, 127.0, 0, 1, None),
                [-295.5, 1228.1],
            ),
            8.0,
        ),
        one("6 holes, no limit", &few, ring(6, 127.0, 0, 2, None), [20.97, -525.753]),
        one("8 holes, no limit", &few, ring(8, 127.0, 0, 2, None), [20.97, -525.753]),
        ring_12("12 holes, q 3", 3),
        ring_12("12 holes, q 4", 4),
        ring_18("18 holes, q 3", 3),
        ring_18("18 holes, q 4", 4),
        ring_24_q("24 holes, q 2", 2),
        ring_24_q("24 holes, q 3", 3),
        ring_24_q("24 holes, q 4", 4),
        ring_36("36 holes, q 3", 3),
        ring_36("36 holes, q 4", 4),
        wide("72 holes, q 2", 2),
        wide("72 holes, q 3", 3),
        in_holes(one("72 holes, q 4", &five, ring(72, 127.0, 0, 4, Some(11.97)), [375.087, 582.595]), 4),
        one("far out of reach, 24 holes", &five, ring(24, 127.0, 0, 2, Some(8.0)), [21_345.676, 15_950.679]),
        two_planes("two planes of 12, q 2 each", 12),
        two_planes("two planes of 24, q 2 each", 24),
        Instance {
            aim: Aim::Front(6),
            ..one(
                "front of 0 to 6 pieces, 24 holes",
                &six,
                ring(24, 127.0, 0, 3, Some(15.0)),
                [-780.763, -743.485],
            )
        },
    ]
}
