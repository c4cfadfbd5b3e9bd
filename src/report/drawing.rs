//! The figures as SVG.
//!
//! Everything is told by shape, line and number, so that it can be read in grey: what was read is solid, what was expected is
//! dotted, limits are dashed.

use alloc::format;
use alloc::string::String;

use plotters::coord::Shift;
use plotters::drawing::DrawingArea;
use plotters::prelude::{
    BLACK, Circle, Color, IntoDrawingArea, IntoFont, PathElement, RGBColor, SVGBackend, ShapeStyle, Text,
    TextStyle, WHITE,
};
use plotters::style::text_anchor::{HPos, Pos, VPos};

use super::figures::{Drawn, Figure, Polar, Ring, Tip};
use crate::math;

const SIZE: i32 = 1000;
const CENTRE: i32 = SIZE / 2;
const GREY: RGBColor = RGBColor(150, 150, 150);
const INK: RGBColor = RGBColor(20, 50, 90);
const LIMIT: RGBColor = RGBColor(150, 60, 0);

type Area<'a> = DrawingArea<SVGBackend<'a>, Shift>;

/// The figure, or nothing where it cannot be drawn.
pub(super) fn svg(figure: &Figure) -> String {
    let mut text = String::new();
    {
        let area = SVGBackend::with_string(&mut text, (SIZE.unsigned_abs(), SIZE.unsigned_abs()))
            .into_drawing_area();
        let drawn = match &figure.drawn {
            Drawn::Polar(polar) => draw_polar(&area, polar),
            Drawn::Ring(ring) => draw_ring(&area, ring),
        };
        if drawn.and_then(|()| area.present().ok()).is_none() {
            return String::new();
        }
    }
    text
}

/// A point at a distance from the centre; 0 degrees is up and angles run clockwise.
#[allow(clippy::cast_possible_truncation)] // saturates, and lies in the figure
fn at(distance: f64, degrees: f64) -> (i32, i32) {
    let (sine, cosine) = math::sin_cos_degrees(degrees);
    (CENTRE + round(distance * sine), CENTRE - round(distance * cosine))
}

#[allow(clippy::cast_possible_truncation)] // saturates
fn round(value: f64) -> i32 {
    math::floor(value + 0.5) as i32
}

fn text(area: &Area<'_>, words: &str, place: (i32, i32), size: i32, colour: RGBColor) -> Option<()> {
    let centred = Pos::new(HPos::Center, VPos::Center);
    let style = TextStyle::from(("sans-serif", size).into_font()).color(&colour).pos(centred);
    area.draw(&Text::new(String::from(words), place, style)).ok()
}

fn line(area: &Area<'_>, from: (i32, i32), to: (i32, i32), style: ShapeStyle) -> Option<()> {
    area.draw(&PathElement::new([from, to], style)).ok()
}

/// A circle of dashes: `on` degrees drawn, `off` left out.
fn dashed(
    area: &Area<'_>,
    centre: (i32, i32),
    radius: f64,
    (on, off): (f64, f64),
    style: ShapeStyle,
) -> Option<()> {
    let mut degrees = 0.0;
    while degrees < 360.0 {
        let point = |degrees: f64| {
            let (x, y) = at(radius, degrees);
            (x - CENTRE + centre.0, y - CENTRE + centre.1)
        };
        let steps = [0.0, 0.5, 1.0].map(|part| point(degrees + part * on));
        area.draw(&PathElement::new(steps, style)).ok()?;
        degrees += on + off;
    }
    Some(())
}

/// A round number of which at most five reach the value.
fn step_for(value: f64) -> f64 {
    let mut step = 1e-9;
    loop {
        for factor in [1.0, 2.0, 5.0] {
            if 5.0 * factor * step >= value {
                return factor * step;
            }
        }
        step *= 10.0;
        if !step.is_finite() {
            return value;
        }
    }
}

fn draw_polar(area: &Area<'_>, polar: &Polar) -> Option<()> {
    const REACH: f64 = 400.0;
    area.fill(&WHITE).ok()?;
    let reach =
        |tip: &Tip| tip.amplitude + tip.radius.filter(|radius| *radius < 2.0 * tip.amplitude).unwrap_or(0.0);
    let largest = polar.vectors.iter().map(reach).chain(polar.limit).fold(0.0, f64::max);
    if !(largest > 0.0 && largest.is_finite()) {
        return None;
    }
    let step = step_for(largest);
    let rings = math::floor(largest / step + 0.999);
    let scale = REACH / (rings * step);
    for spoke in 0..12_u32 {
        let degrees = 30.0 * f64::from(spoke);
        line(area, (CENTRE, CENTRE), at(REACH, degrees), GREY.mix(0.5).stroke_width(1))?;
        text(area, &format!("{degrees:.0}"), at(REACH + 34.0, degrees), 30, RGBColor(90, 90, 90))?;
    }
    text(area, polar.angles, (CENTRE + 150, 28), 30, RGBColor(90, 90, 90))?;
    let mut ring = 1.0;
    while ring <= rings {
        let radius = ring * step * scale;
        area.draw(&Circle::new((CENTRE, CENTRE), round(radius), GREY.stroke_width(1))).ok()?;
        let amplitude = ring * step;
        let words = format!("{}", math::floor(amplitude * 1e9 + 0.5) / 1e9);
        text(area, &words, at(radius, 15.0), 28, RGBColor(90, 90, 90))?;
        ring += 1.0;
    }
    text(area, &polar.unit, (CENTRE + 390, CENTRE + 465), 30, RGBColor(90, 90, 90))?;
    if let Some(limit) = polar.limit {
        dashed(area, (CENTRE, CENTRE), limit * scale, (6.0, 4.0), LIMIT.stroke_width(4))?;
        let place = at(limit * scale + 24.0, 195.0);
        text(area, "limit", place, 30, LIMIT)?;
    }
    for tip in &polar.vectors {
        let end = at(tip.amplitude * scale, tip.degrees);
        let radius = tip.radius.map(|radius| radius * scale).filter(|radius| *radius < REACH);
        if tip.is_expected {
            if let Some(radius) = radius {
                dashed(area, end, radius.max(6.0), (4.0, 8.0), INK.stroke_width(3))?;
            }
            continue;
        }
        line(area, (CENTRE, CENTRE), end, INK.stroke_width(4))?;
        // The head: two short lines back from the tip.
        for side in [-1.0, 1.0] {
            let (sine, cosine) = math::sin_cos_degrees(tip.degrees + 180.0 + 25.0 * side);
            let back = (end.0 + round(20.0 * sine), end.1 - round(20.0 * cosine));
            line(area, end, back, INK.stroke_width(4))?;
        }
        if let Some(radius) = radius {
            area.draw(&Circle::new(end, round(radius.max(2.0)), INK.stroke_width(2))).ok()?;
        }
        let label = at(tip.amplitude * scale + 34.0, tip.degrees);
        text(area, &tip.label, label, 38, BLACK)?;
    }
    Some(())
}

fn draw_ring(area: &Area<'_>, ring: &Ring) -> Option<()> {
    const CIRCLE: f64 = 330.0;
    area.fill(&WHITE).ok()?;
    area.draw(&Circle::new((CENTRE, CENTRE), round(CIRCLE), GREY.stroke_width(1))).ok()?;
    let heaviest = ring.holes.iter().map(|hole| hole.grams).fold(0.0, f64::max);
    // The mark: a wedge at the top, inside.
    let mark = [at(250.0, 0.0), at(215.0, 4.0), at(215.0, 356.0), at(250.0, 0.0)];
    area.draw(&PathElement::new(mark, BLACK.stroke_width(3))).ok()?;
    text(area, "mark", at(185.0, 0.0), 32, BLACK)?;
    // Which way it turns, in the middle.
    text(area, ring.turning, (CENTRE, CENTRE), 30, RGBColor(90, 90, 90))?;
    #[allow(clippy::cast_precision_loss)] // a count of holes
    let spacing = 2.0 * core::f64::consts::PI * CIRCLE / ring.holes.len().max(1) as f64;
    let largest = (0.42 * spacing).clamp(3.0, 34.0);
    let every = if ring.holes.len() > 36 { ring.holes.len() / 36 + 1 } else { 1 };
    for (at_hole, hole) in ring.holes.iter().enumerate() {
        let centre = at(CIRCLE, hole.degrees);
        area.draw(&Circle::new(centre, round(0.6 * largest), GREY.stroke_width(2))).ok()?;
        let is_used = hole.grams > 0.0;
        if is_used {
            // Area in proportion to mass.
            let radius = largest * math::sqrt(hole.grams / heaviest).max(0.3);
            area.draw(&Circle::new(centre, round(radius), INK.filled())).ok()?;
            text(area, &format!("{:.1} g", hole.grams), at(CIRCLE + 120.0, hole.degrees), 34, BLACK)?;
        }
        if is_used || at_hole % every == 0 {
            let size = if is_used { 36 } else { 28 };
            let colour = if is_used { BLACK } else { RGBColor(90, 90, 90) };
            text(area, &format!("{}", hole.number), at(CIRCLE + 55.0, hole.degrees), size, colour)?;
        }
    }
    Some(())
}
