//! Laws that hold for every input, not for chosen ones.

use bending::developed::{deduction, deduction_din, din_k, din_v, outside_setback};
use bending::force::{ForceForm, air_bend};
use bending::leg::{BendShape, Leg, StraightOnly, ToOuterTangent, ToOuterVertex, flat_length};
use bending::{flange, radius, travel};
use proptest::prelude::*;
use units::{Degrees, Length, LengthUnit, Megapascals, parse_length};

fn form() -> impl Strategy<Value = ForceForm> {
    proptest::sample::select(ForceForm::ALL.to_vec())
}

/// A length between two numbers of micrometres.
fn micrometres(range: std::ops::Range<i64>) -> impl Strategy<Value = Length> {
    range.prop_map(|um| Length::from_nanometres(um * 1000))
}

fn kn(form: ForceForm, rm: f64, length: Length, t: Length, v: Length) -> f64 {
    air_bend(form, Megapascals::of(rm), length, t, v)
        .value
        .get()
}

/// Nothing a drawing or the printed tables can show.
const NOISE: f64 = 1e-9;

proptest! {
    #[test]
    fn force_rises_with_thickness_and_strength_and_falls_with_the_opening(
        form in form(),
        rm in 100.0..1500.0f64,
        length in micrometres(10_000..6_000_000),
        t in micrometres(300..20_000),
        v in micrometres(2_000..250_000),
        more in 1.001..3.0f64,
    ) {
        let base = kn(form, rm, length, t, v);
        prop_assert!(kn(form, rm * more, length, t, v) > base);
        prop_assert!(kn(form, rm, length, Length::from_mm(t.mm() * more), v) > base);
        prop_assert!(kn(form, rm, length, t, Length::from_mm(v.mm() * more)) < base);
        let longer = kn(form, rm, Length::from_mm(length.mm() * more), t, v);
        // The length is rounded to a nanometre, so the proportion is too.
        prop_assert!((longer / base / more - 1.0).abs() < 1e-6);
    }

    #[test]
    fn a_part_has_one_flat_length_however_its_legs_are_measured(
        angles in proptest::collection::vec(5.0..=90.0f64, 1..6),
        straights in proptest::collection::vec(micrometres(0..500_000), 6),
        r in micrometres(200..60_000),
        t in micrometres(300..12_000),
    ) {
        let bends: Vec<_> =
            angles.iter().map(|a| BendShape { included: Degrees::of(*a), r, t }).collect();
        let straight: Vec<Leg<StraightOnly>> =
            straights.iter().take(bends.len() + 1).map(|l| Leg::new(*l)).collect();
        let ends = |i: usize| &bends[i.saturating_sub(1)..bends.len().min(i + 1)];
        let mut tangent: Vec<Leg<ToOuterTangent>> = Vec::new();
        let mut vertex: Vec<Leg<ToOuterVertex>> = Vec::new();
        for (i, leg) in straight.iter().enumerate() {
            let to_tangent = leg.restate::<ToOuterTangent>(ends(i)).unwrap();
            tangent.push(to_tangent);
            vertex.push(to_tangent.restate::<ToOuterVertex>(ends(i)).unwrap());
        }
        let flat = flat_length(&straight, &bends).unwrap();
        // Half a nanometre for each restated leg, at most two restatements.
        let rounding = Length::from_nanometres(10);
        prop_assert!((flat_length(&tangent, &bends).unwrap() - flat).abs() <= rounding);
        prop_assert!((flat_length(&vertex, &bends).unwrap() - flat).abs() <= rounding);

        // The published corrections, each in its own convention, say the same again.
        let sum = |lengths: Vec<Length>| lengths.into_iter().sum::<Length>().mm();
        let by_v = sum(tangent.iter().map(|l| l.length()).collect())
            + bends.iter().map(|b| din_v(b.included, r, t)).sum::<f64>();
        let by_deduction = sum(vertex.iter().map(|l| l.length()).collect())
            - bends.iter().map(|b| deduction_din(b.included, r, t)).sum::<f64>();
        prop_assert!((by_v - flat.mm()).abs() < 1e-5, "{by_v} {}", flat.mm());
        prop_assert!((by_deduction - flat.mm()).abs() < 1e-5, "{by_deduction} {}", flat.mm());
    }

    #[test]
    fn above_a_square_corner_the_standard_and_the_deduction_agree(
        beta in 90.0..=165.0f64,
        r in micrometres(200..60_000),
        t in micrometres(300..12_000),
    ) {
        let beta = Degrees::of(beta);
        prop_assert!((din_v(beta, r, t) + deduction_din(beta, r, t)).abs() < NOISE);
    }

    #[test]
    fn the_standard_is_continuous_at_a_square_corner(
        r in micrometres(200..60_000),
        t in micrometres(300..12_000),
    ) {
        let v = |beta| din_v(Degrees::of(beta), r, t);
        let step = 1e-7;
        // The steepest either side is below 2·(r + s) a radian on top of the arc.
        let slope = (3.0 * r.mm() + 3.0 * t.mm()).to_radians();
        prop_assert!((v(90.0 + step) - v(90.0)).abs() <= slope * step * 2.0 + NOISE);
        prop_assert!((v(90.0) - v(90.0 - step)).abs() <= slope * step * 2.0 + NOISE);
    }

    #[test]
    fn the_sign_change_moves_up_towards_its_limit(ratio in 5.0..1e4f64, wider in 1.01..10.0f64) {
        let zero = |ratio: f64| {
            let (r, s) = (Length::from_mm(ratio), Length::from_whole_mm(1));
            let (mut low, mut high) = (0.0, 90.0);
            for _ in 0..60 {
                let middle = f64::midpoint(low, high);
                if din_v(Degrees::of(middle), r, s) > 0.0 { low = middle } else { high = middle }
            }
            low
        };
        let limit = 180.0 - 360.0 / std::f64::consts::PI;
        let (narrow, wide) = (zero(ratio), zero(ratio * wider));
        prop_assert!(narrow <= wide + 1e-6 && wide < limit, "{narrow} {wide} {limit}");
        // φ·(r + s/2) = 2·(r + s) gives φ = 2 + 2/(2ρ + 1), so the distance is 2/(2ρ + 1).
        prop_assert!(limit - wide <= (2.0 / (2.0 * ratio * wider + 1.0)).to_degrees() * 1.01);
    }

    #[test]
    fn millimetres_and_inches_agree(
        sixteenths in 1i64..12,
        opening in 6i64..12,
        form in form(),
        beta in 30.0..170.0f64,
    ) {
        let inch = parse_length(&format!("{sixteenths}/16 in"), LengthUnit::Millimetre).unwrap();
        let mm = Length::from_mm(25.4 * f64::from(i32::try_from(sixteenths).unwrap()) / 16.0);
        prop_assert_eq!(inch, mm);
        let over = parse_length(&format!("{}/16\"", sixteenths * opening), LengthUnit::Millimetre)
            .unwrap();
        let over_mm = Length::from_mm(mm.mm() * f64::from(i32::try_from(opening).unwrap()));
        let (length, beta) = (Length::from_mm(304.8), Degrees::of(beta));
        prop_assert!(
            (kn(form, 400.0, length, inch, over) - kn(form, 400.0, length, mm, over_mm)).abs()
                < NOISE
        );
        let (ri, ri_mm) = (radius::natural(over, 0.16), radius::natural(over_mm, 0.16));
        prop_assert!(
            (deduction_din(beta, ri, inch) - deduction_din(beta, ri_mm, mm)).abs() < NOISE
        );

        // The inch form worked in inches, pounds and feet, and only then turned into kN.
        let (t_in, v_in) = (inch.mm() / 25.4, over.mm() / 25.4);
        let ksi = 1000.0 * 4.448_221_615_260_5 / 645.16;
        let tons_per_foot = 575.0 * t_in * t_in / v_in * (400.0 / ksi) / 60.0;
        let in_kn = tons_per_foot * 2000.0 * 4.448_221_615_260_5 / 1000.0;
        let ours = kn(ForceForm::InchShop, 400.0, length, inch, over);
        prop_assert!((ours / in_kn - 1.0).abs() < NOISE, "{ours} {in_kn}");
    }

    #[test]
    fn a_deduction_is_two_setbacks_less_the_neutral_line(
        angle in 0.0..170.0f64,
        r in micrometres(200..60_000),
        t in micrometres(300..12_000),
        k in 0.0..0.5f64,
    ) {
        let bend = Degrees::of(angle);
        // The neutral line lies inside the sharp outer corner, so a bend always saves material.
        let saved = deduction(bend, r, t, k);
        prop_assert!(saved >= -NOISE);
        prop_assert!(saved <= 2.0 * outside_setback(bend, r, t) + NOISE);
        prop_assert!((0.0..=1.0).contains(&din_k(r, t)));
    }

    #[test]
    fn a_sharper_bend_wants_a_longer_flange_and_more_travel(
        v in micrometres(4_000..250_000),
        ratio in 6.0..12.0f64,
        beta in 30.0..175.0f64,
        sharper in 0.5..20.0f64,
    ) {
        let t = Length::from_mm(v.mm() / ratio);
        let ri = radius::inside(v, 0.16, Length::ZERO);
        let (open, shut) = (Degrees::of(beta), Degrees::of(beta - sharper));
        prop_assert!(flange::smallest(v, shut) > flange::smallest(v, open));
        prop_assert!(travel::punch_travel(v, t, ri, shut) > travel::punch_travel(v, t, ri, open));
    }
}

#[test]
fn a_square_corner_ties_deduction_and_standard_together() {
    let (r, t) = (Length::from_whole_mm(4), Length::from_whole_mm(2));
    let square = Degrees::of(90.0);
    let saved = deduction(square, r, t, din_k(r, t) / 2.0);
    assert!((saved + din_v(square, r, t)).abs() < 1e-12);
    assert!((saved - 4.4594).abs() < 5e-5);
}
