//! How fast the kernel is, on one core: `make bench` runs it natively and in a browser.
//!
//! Prints one JSON object per line, name and nanoseconds for one of it; `end2end/reference/craft_bench.py`
//! runs the same work through shapely and scipy and prints the ratios.

use std::hint::black_box;
use std::time::Instant;

use craft::Rates;

const PLAIN: &str = r#"{"steel": "1.3505",
 "blade": {"edge_length_mm": 210, "height_mm": 46, "original_height_mm": 48, "least_height_mm": 31,
           "spine_mm": 2.4, "behind_edge_mm": 0.35, "grind": {"kind": "flat"},
           "hardness": {"edge_hrc": 64, "spine_hrc": 32, "line_mm": 18, "transition_mm": 4, "least_hrc": 58}},
 "edge": {"kind": "double", "half_angle_deg": 15},
 "wear": {"land_mm": 0.06, "chips": [{"depth_mm": 0.8, "width_mm": 1.5, "at_mm": 60}]},
 "target": {"half_angle_deg": 15, "allowance_mm": 0.02},
 "typical_recession_mm": {"median": 0.15, "spread": 0.5}}"#;

const TOOTHED: &str = r#"{"steel": "1.4116",
 "blade": {"edge_length_mm": 300, "height_mm": 32, "spine_mm": 2.0, "behind_edge_mm": 0.4, "least_height_mm": 24},
 "edge": {"kind": "serrated", "form": "arc", "pitch_mm": 5, "ridge_radius_mm": 6.5, "angle_deg": 20},
 "wear": {"tip_flat_mm": 0.5},
 "target": {"allowance_mm": 0.05},
 "typical_recession_mm": {"median": 0.25, "spread": 0.5}}"#;

/// Nanoseconds for one call: the least of forty short rounds, which is what a busy neighbour disturbs least.
fn time(name: &str, mut f: impl FnMut()) -> f64 {
    let mut calls = 1_u32;
    loop {
        let start = Instant::now();
        for _ in 0..calls {
            f();
        }
        if start.elapsed().as_micros() >= 3000 || calls > 1 << 24 {
            break;
        }
        calls *= 2;
    }
    let rounds = (0..40)
        .map(|_| {
            let start = Instant::now();
            for _ in 0..calls {
                f();
            }
            start.elapsed().as_secs_f64() * 1e9 / f64::from(calls)
        })
        .fold(f64::INFINITY, f64::min);
    say(&serde_json::json!({"name": name, "ns": rounds}));
    rounds
}

/// Many different knives, each estimated and its life drawn 200 times from what is not known of its habit. A browser gets fewer of them.
fn many_lives(
    plain: &craft::Request,
    toothed: &craft::Request,
    habit: &craft::learn::Habit,
    rates: &Rates,
) -> Result<(), craft::Impossible> {
    let n = if cfg!(target_family = "wasm") { 2_000_u32 } else { 100_000 };
    let (mut plain, mut toothed) = (plain.clone(), toothed.clone());
    let mut services = 0_u64;
    let start = Instant::now();
    for i in 0..n {
        let knife = if i % 2 == 0 { &mut plain } else { &mut toothed };
        knife.blade.height_mm = 36.0 + 10.0 * f64::from(i) / f64::from(n);
        knife.blade.original_height_mm = None;
        knife.blade.least_height_mm = Some(30.0);
        let found = craft::estimate(knife, rates)?;
        services += u64::from(habit.services(found.height_after_mm - 30.0, u64::from(i), 200).p50);
    }
    let seconds = start.elapsed().as_secs_f64();
    say(&serde_json::json!({"name": "an estimate with 200 life draws", "ns": seconds * 1e9 / f64::from(n),
        "estimates": n, "seconds": seconds, "mean_services": services as f64 / f64::from(n)}));
    Ok(())
}

#[expect(clippy::print_stdout, reason = "a bench's output is what it prints")]
fn say(line: &serde_json::Value) {
    println!("{line}");
}

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let rates = Rates::default();
    let plain: craft::Request = serde_json::from_str(PLAIN)?;
    let toothed: craft::Request = serde_json::from_str(TOOTHED)?;
    time("estimate, plain, life and heat", || {
        let _ = black_box(craft::estimate(black_box(&plain), &rates));
    });
    time("estimate, serrated, life and heat", || {
        let _ = black_box(craft::estimate(black_box(&toothed), &rates));
    });
    time("estimate, one line of JSON in and out", || {
        let _ = black_box(craft::line(black_box(PLAIN), &rates));
    });
    time("life, 200 thrown draws of every later service", || {
        let _ = black_box(craft::learn::services_by_draws(14.18, 0.15, 0.5, 1, 200));
    });
    let habit = craft::learn::Habit::prior(craft::EdgeKind::Double);
    time("life, 200 draws of an unknown habit", || {
        let _ = black_box(habit.services(black_box(14.18), 1, 200));
    });
    many_lives(&plain, &toothed, &habit, &rates)?;
    let section = craft::kernel::PlainSection {
        height_mm: 46.0,
        spine_mm: 2.4,
        behind_edge_mm: 0.35,
        half_angle_deg: 15.0,
        land_mm: 0.06,
        recession_mm: 0.82,
    };
    time("plain section", || {
        black_box(black_box(&section).removed_mm2());
    });
    let row = craft::kernel::Row { pitch_mm: 5.0, ridge_radius_mm: 6.5, angle_deg: 20.0 };
    let other = craft::kernel::Row { pitch_mm: 5.05, ..row };
    let teeth = craft::kernel::Teeth {
        edge_length_mm: 212.0,
        height_mm: 46.0,
        spine_mm: 2.4,
        behind_edge_mm: 0.35,
        row,
        recession_mm: 0.3,
    };
    time("serrated volume over the edge", || {
        black_box(black_box(&teeth).removed_mm3());
    });
    let mut costs = vec![0.0; 400];
    time("registration, 60 teeth, 400 phases", || {
        craft::kernel::mismatch_curve(black_box(&row), &other, 300.0, &mut costs);
        black_box(&costs);
    });
    time("registration, 60 teeth, best phase exactly", || {
        black_box(craft::kernel::least_mismatch(black_box(&row), &other, 300.0));
    });
    let worn = craft::kernel::Row { pitch_mm: 4.7, ridge_radius_mm: 7.2, ..row };
    time("registration, 60 teeth, best phase of another ridge", || {
        black_box(craft::kernel::least_mismatch(black_box(&row), &worn, 300.0));
    });
    let band = craft::heat::Band {
        flux_w_m2: 50e6,
        length_m: 1e-3,
        speed_m_s: 0.05,
        conductivity_w_mk: 46.6,
        diffusivity_m2_s: 1.27e-5,
    };
    time("heat, Jaeger's integral at its maximum", || {
        black_box(black_box(&band).rise());
    });
    say(
        &serde_json::json!({"name": "answers", "section_mm2": section.removed_mm2(), "serrated_mm3": teeth.removed_mm3(),
        "rise_k": band.rise(), "least_mismatch_mm": craft::kernel::least_mismatch(&row, &other, 300.0).map(|found| found.1)}),
    );
    Ok(())
}
