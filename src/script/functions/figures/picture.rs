//! Saves a picture in the folder of the script, as SVG, PNG or PDF by its extension.

use crate::figure::Graphic;
use crate::files::write_atomically;
use crate::limits;
use crate::report::Saved;
use crate::script::language::context::Context;
use crate::script::language::error::{Answer, ScriptError, raise};

/// Draws into a file in the folder of the script, as .svg, .png or .pdf by its extension, and notes for whoever shows the file what it
/// shows.
pub fn save_picture(context: &Context, file: &str, graphic: Graphic) -> Answer<Saved> {
    let place = context.place_to_save(file)?;
    let ending = place.path().extension().and_then(|ending| ending.to_str()).map(str::to_lowercase);
    if !matches!(ending.as_deref(), Some("svg" | "png" | "pdf")) {
        let error = ScriptError::new(format!("cannot draw a chart into '{file}'"));
        return Err(error.with_hint("use the extension .svg, .png or .pdf").into());
    }
    let drawn = graphic.drawn().map_err(raise)?;
    let bytes = match ending.as_deref() {
        Some("svg") => drawn.svg().map_err(raise)?.into_bytes(),
        Some("png") => drawn.png().map_err(raise)?,
        _ => drawn.pdf().map_err(raise)?,
    };
    limits::go_on()?;
    write_atomically(&place, &bytes).map_err(raise)?;
    context.drew(drawn);
    Ok(Saved::File(file.into()))
}
