//! The three uses on a shop small enough to redo on paper.
#![allow(clippy::unwrap_used, reason = "a test may")]

use planner::{
    Budget, Instance, Job, Scatter, Watch, explain, parse, plan, plan_feasible_part, promise, replan, verify,
};

fn effort(iterations: u64) -> Budget {
    Budget { iterations: Some(iterations), ..Budget::default() }
}

/// One wheel, open 0..100 and 200..300, one person; two jobs of 30 minutes in one setup that is not mounted (10 minutes).
fn shop() -> Instance {
    parse(
        r#"{"stations": [{"id": "wheel", "windows": [[0, 100], [200, 300]]}],
            "changeovers": [{"station": "wheel", "setups": ["a", "b"], "minutes": [[0, 12], [15, 0]], "first": [10, 20]}],
            "people": [{"id": "P1", "windows": [[0, 100], [200, 300]]}],
            "jobs": [
              {"id": "A", "due": 40, "operations": [{"on": [{"station": "wheel", "setup": "a", "minutes": 30}]}]},
              {"id": "B", "due": 70, "operations": [{"on": [{"station": "wheel", "setup": "a", "minutes": 30}]}]}]}"#,
    )
    .unwrap()
}

fn job(text: &str) -> Job {
    serde_json::from_str(text).unwrap()
}

#[test]
fn a_new_job_is_promised_behind_what_stands() {
    let instance = shop();
    let standing = plan(&instance, effort(10), &Watch::none()).unwrap();
    assert_eq!(standing.objective.total, 0.0);
    // The wheel is in setup a until 70; b needs 12 more minutes and 20 of work: 70 + 12 + 20 = 102 is past closing,
    // so it begins with the next window: 200 + 12 + 20.
    let new = job(
        r#"{"id": "N", "due": 0, "operations": [{"on": [{"station": "wheel", "setup": "b", "minutes": 20}]}]}"#,
    );
    let clockwork = Scatter { spread: 0.0, ..Scatter::default() };
    let promised = promise(&instance, &standing, &new, clockwork).unwrap();
    assert_eq!((promised.completion, promised.p50, promised.p95), (232, 232, 232));
    // In setup a it still fits before closing: 70 + 20.
    let new = job(
        r#"{"id": "N", "due": 0, "operations": [{"on": [{"station": "wheel", "setup": "a", "minutes": 20}]}]}"#,
    );
    let promised = promise(&instance, &standing, &new, Scatter::default()).unwrap();
    assert_eq!(promised.completion, 90);
    assert!(promised.p50 <= promised.p80 && promised.p80 <= promised.p90 && promised.p90 <= promised.p95);
}

#[test]
fn a_replan_leaves_standing_work_where_it_is() {
    let mut instance = shop();
    let standing = plan(&instance, effort(10), &Watch::none()).unwrap();
    instance.jobs.insert(0, job(r#"{"id": "N", "due": 300, "operations": [{"on": [{"station": "wheel", "setup": "a", "minutes": 20}]}]}"#));
    let again = replan(&instance, &standing, effort(10), &Watch::none()).unwrap();
    assert_eq!(verify(&instance, &again), []);
    for before in &standing.operations {
        assert_eq!(again.find(&before.job, before.index), Some(before));
    }
    assert_eq!(again.find("N", 0).map(|o| o.start), Some(70));
}

#[test]
fn a_piece_says_what_it_waits_for() {
    let instance = shop();
    let standing = plan(&instance, effort(10), &Watch::none()).unwrap();
    let reasons = explain(&instance, &standing, "B", 0).unwrap();
    assert_eq!(reasons.start, 40);
    assert!(reasons.sentence.contains("waits for wheel, where A is done first"), "{}", reasons.sentence);
}

#[test]
fn what_cannot_be_met_is_left_out_with_the_reason() {
    let mut instance = shop();
    instance.jobs.push(job(r#"{"id": "L", "due": 0, "operations": [{"on": [{"station": "wheel", "setup": "a", "minutes": 95}]}]}"#));
    // 95 minutes fit into a window of 100 when the setup is mounted, 101 never do.
    assert!(plan(&instance, effort(10), &Watch::none()).is_ok());
    instance.jobs[2].operations[0].on[0].minutes = 101;
    let refused = plan(&instance, effort(10), &Watch::none()).unwrap_err();
    assert!(
        refused[0].error.contains("no window is long enough for operation 0 of \"L\""),
        "{}",
        refused[0].error
    );
    let part = plan_feasible_part(&instance, effort(10), &Watch::none()).unwrap();
    assert_eq!(part.left_out.len(), 1);
    assert_eq!(part.left_out[0].job, "L");
    assert_eq!(part.plan.operations.len(), 2);
}
