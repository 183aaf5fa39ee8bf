//! The shop's own designs, with their drawing values.

use super::wheel::{fill_teeth, read_teeth};
use super::{Reader, Typed};
use crate::bench::{Drawing, Model};
use crate::edge::EdgeKind;
use crate::field::FieldErrors;
use crate::ids::ModelId;

/// What the form shows.
pub fn fill_model(model: &Model) -> Typed {
    let mut typed = Typed::default();
    let d = &model.drawing;
    typed.set("mark", &model.mark);
    typed.set("name", &model.name);
    typed.tick("current", model.current);
    typed.set("edge", d.edge.code());
    typed.set("steel", &d.steel);
    typed.set("handle", &d.handle);
    typed.tick("darkened", d.darkened);
    typed.set("setup", d.setup.as_deref().unwrap_or_default());
    let figures = [
        ("length-mm", d.length_mm),
        ("height-mm", d.height_mm),
        ("least-height-mm", d.least_height_mm),
        ("spine-mm", d.spine_mm),
        ("behind-edge-mm", d.behind_edge_mm),
        ("angle-deg", d.angle_deg),
        ("edge-hrc", d.edge_hrc),
        ("spine-hrc", d.spine_hrc),
        ("least-hrc", d.least_hrc),
    ];
    for (field, figure) in figures {
        typed.figure(field, figure);
    }
    if let Some(line) = d.line_mm {
        typed.figure("line-mm", line);
        typed.figure("transition-mm", d.transition_mm);
    }
    fill_teeth(&mut typed, d.teeth.as_ref());
    typed
}

/// What was typed.
pub fn check_model(typed: &Typed, id: ModelId) -> Result<Model, FieldErrors> {
    let mut read = Reader::new(typed);
    let kinds = EdgeKind::ALL.map(|kind| (kind.code(), kind));
    let edge = read.one_of("edge", &kinds).unwrap_or(EdgeKind::Double);
    let line_mm = read.length_if("line-mm", "the height of the hardness line", 0.5, 200.0);
    let transition = read.length_if("transition-mm", "the height over which hardness falls", 0.0, 100.0);
    let setup = read.line("setup", "the setup", 24, false);
    let mut drawing = Drawing {
        edge,
        length_mm: read.length("length-mm", "the length of the edge", 20.0, 1000.0),
        height_mm: read.length("height-mm", "the height", 5.0, 200.0),
        least_height_mm: read.length("least-height-mm", "the height at which it is worn out", 1.0, 200.0),
        spine_mm: read.length("spine-mm", "the thickness of the spine", 0.5, 12.0),
        behind_edge_mm: read.length("behind-edge-mm", "the thickness behind the edge", 0.05, 6.0),
        angle_deg: read.figure("angle-deg", "the angle", 3.0, 45.0),
        steel: read.line("steel", "the steel", 40, true),
        edge_hrc: read.figure("edge-hrc", "the hardness of the edge", 20.0, 70.0),
        spine_hrc: read.figure("spine-hrc", "the hardness of the spine", 10.0, 70.0),
        line_mm,
        transition_mm: line_mm.and(transition).unwrap_or(0.0),
        least_hrc: read.figure("least-hrc", "the least hardness it is sold with", 20.0, 70.0),
        teeth: None,
        setup: None,
        darkened: typed.ticked("darkened"),
        handle: read.line("handle", "the handle", 80, false),
    };
    if edge.is_serrated() {
        drawing.teeth = read_teeth(&mut read);
        drawing.setup = (!setup.is_empty()).then_some(setup);
        match &drawing.teeth {
            None if read.errors.of("teeth").is_none() => {
                read.errors.add("teeth", "Please say which teeth are cut.");
            }
            Some(teeth) if teeth.form != edge => {
                read.errors.add("teeth", "These teeth are not of the kind of edge above.");
            }
            _ => {}
        }
        if drawing.setup.is_none() {
            read.errors.add("setup", "Please choose the wheel's setup that cuts its teeth.");
        }
    }
    let model = Model {
        id,
        mark: read.line("mark", "the mark on the blade", 24, true),
        name: read.line("name", "the name", 80, true),
        current: typed.ticked("current"),
        drawing,
    };
    hold_together(&mut read, &model.drawing);
    read.or(model)
}

/// Figures that cannot be true together.
fn hold_together(read: &mut Reader<'_>, d: &Drawing) {
    let fine =
        |read: &Reader<'_>, fields: &[&str]| fields.iter().all(|field| read.errors.of(field).is_none());
    if fine(read, &["height-mm", "least-height-mm"]) && d.least_height_mm >= d.height_mm {
        read.errors.add("least-height-mm", "It must be worn out at a smaller height than it has when new.");
    }
    if fine(read, &["spine-mm", "behind-edge-mm"]) && d.behind_edge_mm > d.spine_mm {
        read.errors.add("behind-edge-mm", "It cannot be thicker behind the edge than at the spine.");
    }
    if fine(read, &["edge-hrc", "least-hrc"]) && d.least_hrc > d.edge_hrc {
        read.errors.add("least-hrc", "It cannot be sold harder than its edge is.");
    }
    if fine(read, &["height-mm", "line-mm"]) && d.line_mm.is_some_and(|line| line >= d.height_mm) {
        read.errors.add("line-mm", "The hardness line must lie below the spine.");
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bench::Teeth;

    fn model() -> Model {
        Model {
            id: ModelId(uuid::Uuid::from_u128(9)),
            mark: "TS-21".into(),
            name: "Test 21".into(),
            current: true,
            drawing: Drawing {
                edge: EdgeKind::Wavy,
                length_mm: 210.0,
                height_mm: 38.0,
                least_height_mm: 27.0,
                spine_mm: 2.2,
                behind_edge_mm: 0.4,
                angle_deg: 18.0,
                steel: "1.2842".into(),
                edge_hrc: 61.0,
                spine_hrc: 40.0,
                line_mm: Some(16.0),
                transition_mm: 5.0,
                least_hrc: 57.0,
                teeth: Some(Teeth {
                    form: EdgeKind::Wavy,
                    pitch_mm: 6.0,
                    angle_deg: 18.0,
                    ridge_radius_mm: None,
                    depth_mm: Some(1.1),
                }),
                setup: Some("wavy-6".into()),
                darkened: true,
                handle: "oak".into(),
            },
        }
    }

    #[test]
    fn a_model_goes_through_its_form_unchanged() {
        assert_eq!(check_model(&fill_model(&model()), model().id), Ok(model()));
        let mut plain = model();
        plain.drawing = Drawing {
            edge: EdgeKind::Double,
            teeth: None,
            setup: None,
            line_mm: None,
            transition_mm: 0.0,
            ..plain.drawing
        };
        assert_eq!(check_model(&fill_model(&plain), plain.id), Ok(plain));
    }

    #[test]
    fn figures_that_cannot_be_true_together_are_refused() {
        let mut typed = fill_model(&model());
        typed.set("least-height-mm", "38");
        typed.set("behind-edge-mm", "2.3");
        typed.set("least-hrc", "62");
        typed.set("line-mm", "38");
        typed.set("teeth", "arc");
        typed.set("ridge-radius-mm", "6");
        let errors = check_model(&typed, model().id).unwrap_err();
        for field in ["least-height-mm", "behind-edge-mm", "least-hrc", "line-mm", "teeth"] {
            assert!(errors.of(field).is_some(), "{field} of {errors:?}");
        }
        assert_eq!(errors.0.len(), 5, "{errors:?}");
    }

    #[test]
    fn a_serrated_model_needs_its_teeth_and_their_setup() {
        let mut typed = fill_model(&model());
        typed.set("teeth", "");
        typed.set("setup", "");
        let errors = check_model(&typed, model().id).unwrap_err();
        assert!(errors.of("teeth").is_some() && errors.of("setup").is_some(), "{errors:?}");
    }
}
