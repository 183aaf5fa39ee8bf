//! The command line as somebody types it.

use std::io::Write as _;
use std::path::Path;
use std::process::{Command, Stdio};

use serde_json::{Value, json};

struct Output {
    code: i32,
    out: String,
    err: String,
}

impl Output {
    #[track_caller]
    fn expect(self, code: i32) -> Self {
        assert_eq!(self.code, code, "\nstdout: {}\nstderr: {}", self.out, self.err);
        self
    }

    /// Every line of stderr as JSON.
    #[track_caller]
    fn complaints(&self) -> Vec<Value> {
        self.err.lines().map(|line| serde_json::from_str(line).unwrap_or_else(|_| panic!("{line}"))).collect()
    }

    #[track_caller]
    fn answer(&self) -> Value {
        serde_json::from_str(&self.out).unwrap_or_else(|_| panic!("{}", self.out))
    }
}

/// Runs the program in a folder of its own, without any settings but those given.
fn run_in(folder: &Path, settings: &[(&str, &str)], args: &[&str], input: impl AsRef<[u8]>) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_whetledger"));
    for (name, _) in std::env::vars().filter(|(name, _)| name.starts_with("WHETLEDGER_")) {
        command.env_remove(name);
    }
    let mut child = command
        .args(args)
        .envs(settings.iter().copied())
        .current_dir(folder)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    // A program that refuses its input closes the pipe; that is not this test's failure.
    let _ = child.stdin.take().unwrap().write_all(input.as_ref());
    let output = child.wait_with_output().unwrap();
    Output {
        code: output.status.code().expect("an exit code"),
        out: String::from_utf8(output.stdout).unwrap(),
        err: String::from_utf8(output.stderr).unwrap(),
    }
}

fn run(args: &[&str], input: impl AsRef<[u8]>) -> Output {
    let folder = tempfile::tempdir().unwrap();
    run_in(folder.path(), &[], args, input)
}

/// A gyuto with a chip, and the numbers a sharpener can redo on paper.
fn request() -> Value {
    json!({
        "steel": "1.3505",
        "blade": {"edge_length_mm": 210, "height_mm": 46, "original_height_mm": 48, "least_height_mm": 31,
                  "spine_mm": 2.4, "behind_edge_mm": 0.35, "grind": {"kind": "flat"},
                  "hardness": {"edge_hrc": 64, "spine_hrc": 32, "line_mm": 18, "transition_mm": 4, "least_hrc": 58}},
        "edge": {"kind": "double", "half_angle_deg": 15},
        "wear": {"land_mm": 0.06, "chips": [{"depth_mm": 0.8, "width_mm": 1.5, "at_mm": 60}]},
        "target": {"half_angle_deg": 15, "allowance_mm": 0.02},
        "typical_recession_mm": {"median": 0.15, "spread": 0},
    })
}

#[test]
fn estimate_answers_the_known_case() {
    let answer = run(&["estimate"], request().to_string()).expect(0).answer();
    for (pointer, expected) in [
        ("/recession_mm", 0.82),
        ("/height_after_mm", 45.18),
        ("/removed/section_mm2", 0.344_211),
        ("/removed/edge_mm3", 72.165_246),
        ("/removed/mass_g", 0.563_611),
        ("/after/behind_edge_mm", 0.395_889),
        ("/after/bevel_face_mm", 0.764_799),
        ("/services_left/p50", 94.0),
    ] {
        let value =
            answer.pointer(pointer).and_then(Value::as_f64).unwrap_or_else(|| panic!("{pointer}: {answer}"));
        assert!((value - expected).abs() < 1e-6, "{pointer}: {value}, not {expected}");
    }
    assert_eq!(answer["limited_by"], "height");
    assert_eq!(answer["refusal"], Value::Null);
}

#[test]
fn estimate_answers_good_lines_and_names_bad_ones() {
    let good = request();
    let mut tall = request();
    tall["blade"] = json!({"edge_length_mm": 210, "height_mm": -46, "spine_mm": 2.4, "behind_edge_mm": 0.35});
    let mut odd = request();
    odd["blade"]["hight_mm"] = json!(46);
    let mut input = format!("{good}\n\n{tall}\nnot json\n{odd}\n").into_bytes();
    input.extend(b"\xff\n");
    input.extend(good.to_string().bytes());
    let output = run(&["estimate"], &input).expect(2);
    assert_eq!(output.out.lines().count(), 2, "{}", output.out);
    let complaints = output.complaints();
    let places: Vec<_> =
        complaints.iter().map(|bad| (bad["line"].as_u64().unwrap(), bad["at"].as_str().unwrap())).collect();
    assert_eq!(places, [(3, "blade.height_mm"), (4, ""), (5, "blade.hight_mm"), (6, "")], "{complaints:?}");
    for complaint in &complaints {
        assert_eq!(complaint.as_object().unwrap().len(), 3, "{complaint}");
        assert!(complaint["error"].as_str().is_some_and(|error| !error.is_empty()), "{complaint}");
    }
}

#[test]
fn estimate_reads_files_and_a_shop_file() {
    let folder = tempfile::tempdir().unwrap();
    let write = |name: &str, text: &str| std::fs::write(folder.path().join(name), text).unwrap();
    write("knives.jsonl", &format!("{}\n", request()));
    write("shop.json", "{\"inspect_plain\": 60}");
    write("bad.json", "{\n  \"inspect_plain\": \"soon\"\n}");
    let run = |args: &[&str]| run_in(folder.path(), &[], args, "");
    let usual = run(&["estimate", "knives.jsonl"]).expect(0).answer()["minutes"].as_f64().unwrap();
    let slow = run(&["estimate", "knives.jsonl", "--shop", "shop.json"]).expect(0).answer()["minutes"]
        .as_f64()
        .unwrap();
    assert!(slow > usual + 30.0, "an hour of inspection: {slow} against {usual}");
    let bad = run(&["estimate", "knives.jsonl", "--shop", "bad.json"]).expect(2);
    assert_eq!(bad.complaints()[0]["at"], "inspect_plain");
    assert_eq!(bad.complaints()[0]["line"], 2);
    assert_eq!(bad.out, "");
    run(&["estimate", "nowhere.jsonl"]).expect(1);
    run(&["estimate", "knives.jsonl", "--shop", "nowhere.json"]).expect(1);
}

fn instance() -> Value {
    json!({
        "stations": [{"id": "wheel"}],
        "changeovers": [{"station": "wheel", "setups": ["a", "b"], "minutes": [[0, 12], [15, 0]], "first": [5, 7]}],
        "jobs": [{"id": "K1", "due": 480, "operations": [{"on": [{"station": "wheel", "setup": "a", "minutes": 14}]}]}],
    })
}

#[test]
fn plan_answers_the_known_case() {
    let answer = run(&["plan", "--iterations", "10"], instance().to_string()).expect(0).answer();
    let operation = &answer["operations"][0];
    assert_eq!(
        (&operation["changeover_start"], &operation["start"], &operation["end"]),
        (&json!(0), &json!(5), &json!(19))
    );
    assert_eq!(operation["job"], "K1");
    assert!((answer["objective"]["total"].as_f64().unwrap()).abs() < 1e-9, "{answer}");
}

#[test]
fn plan_names_what_cannot_be_read_or_met() {
    let output = run(&["plan"], "{\n  \"stations\": 3\n}").expect(2);
    assert_eq!(
        (&output.complaints()[0]["at"], &output.complaints()[0]["line"]),
        (&json!("stations"), &json!(2))
    );
    assert_eq!(output.out, "");
    let mut unknown = instance();
    unknown["jobs"][0]["operations"][0]["on"][0]["station"] = json!("lathe");
    let output = run(&["plan"], unknown.to_string()).expect(2);
    assert!(output.err.contains("lathe"), "{}", output.err);
    let output = run(&["plan"], b"{\n\"stations\": [\n\xff").expect(2);
    assert_eq!(output.complaints()[0]["line"], 3);
    run(&["plan", "nowhere.json"], "").expect(1);
    run(&["plan", "--seconds", "-1"], instance().to_string()).expect(1);
    run(&["plan", "--threads", "0"], instance().to_string()).expect(1);
}

#[test]
fn help_is_no_error_and_nonsense_is() {
    assert!(run(&["--help"], "").expect(0).out.contains("estimate"));
    run(&["sharpen"], "").expect(1);
    run(&["estimate", "--bogus"], "").expect(1);
}

#[test]
fn bad_settings_stop_the_start_and_are_named() {
    let folder = tempfile::tempdir().unwrap();
    let settings = [("WHETLEDGER_BIND", "here"), ("WHETLEDGER_POST", "pigeon")];
    let output = run_in(folder.path(), &settings, &["serve"], "").expect(1);
    assert!(
        output.err.contains("WHETLEDGER_BIND") && output.err.contains("WHETLEDGER_POST"),
        "{}",
        output.err
    );
}

#[test]
fn a_shop_is_set_up_from_the_command_line() {
    let folder = tempfile::tempdir().unwrap();
    let run = |args: &[&str]| run_in(folder.path(), &[("WHETLEDGER_POST", "folder")], args, "");
    let sick = run(&["doctor"]).expect(1);
    assert!(sick.out.contains("whetledger migrate"), "{}", sick.out);
    run(&["migrate"]).expect(0);
    run(&["migrate"]).expect(0);
    let added = run(&["person", "add", "ann", "Ann Example", "--owner"]).expect(0).out;
    assert!(added.contains("one-time password: "), "{added}");
    run(&["person", "add", "ann", "Ann Again", "--desk"]).expect(1);
    run(&["person", "add", "bob", "Bob Example"]).expect(1);
    assert!(run(&["person", "list"]).expect(0).out.contains("ann\tAnn Example\towner"));
    run(&["backup", "shop.tar"]).expect(0);
    run(&["person", "add", "bob", "Bob Example", "--desk"]).expect(0);
    run(&["restore", "nowhere.tar"]).expect(1);
    run(&["restore", "shop.tar"]).expect(0);
    assert!(!run(&["person", "list"]).expect(0).out.contains("bob"), "the shop is as it was");
    let doctor = run(&["doctor"]);
    assert!(doctor.out.contains("1 person can sign in"), "{}", doctor.out);
}
