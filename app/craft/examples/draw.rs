//! Writes the drawings of one request (standard input) as SVG files into the folder given.

use std::io::Read;

use craft::drawing::Units;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let folder =
        std::path::PathBuf::from(std::env::args().nth(1).ok_or("usage: draw FOLDER < request.json")?);
    let mut text = String::new();
    std::io::stdin().read_to_string(&mut text)?;
    let request: craft::Request = serde_json::from_str(&text)?;
    std::fs::write(folder.join("section.svg"), craft::drawing::section(&request, Units::Millimetres)?)?;
    std::fs::write(folder.join("blade_side.svg"), craft::drawing::blade_side(&request, Units::Millimetres)?)?;
    std::fs::write(
        folder.join("life_fan.svg"),
        craft::drawing::life_fan(&request, &[], Units::Millimetres)?,
    )?;
    if request.edge.kind == craft::EdgeKind::Serrated {
        std::fs::write(
            folder.join("serration.svg"),
            craft::drawing::serration(&request, Units::Millimetres)?,
        )?;
    }
    Ok(())
}
