//! Saves a picture in the folder of the script, as SVG, PNG or PDF by its extension.

use crate::figure::FigureError;
use crate::files::write_atomically;
use crate::limits;
use crate::report::Saved;
use crate::script::language::context::Context;
use crate::script::language::error::{Answer, ScriptError, raise};

/// Draws into a file in the folder of the script, as .svg, .png or .pdf by its extension.
pub fn save_picture(
    context: &Context,
    file: &str,
    svg: impl FnOnce() -> Result<String, FigureError>,
    png: impl FnOnce() -> Result<Vec<u8>, FigureError>,
    pdf: impl FnOnce() -> Result<Vec<u8>, FigureError>,
) -> Answer<Saved> {
    let place = context.place_to_save(file)?;
    let ending = place.path().extension().and_then(|ending| ending.to_str()).map(str::to_lowercase);
    let bytes = match ending.as_deref() {
        Some("svg") => svg().map_err(raise)?.into_bytes(),
        Some("png") => png().map_err(raise)?,
        Some("pdf") => pdf().map_err(raise)?,
        _ => {
            let error = ScriptError::new(format!("cannot draw a chart into '{file}'"));
            return Err(error.with_hint("use the extension .svg, .png or .pdf").into());
        }
    };
    limits::go_on()?;
    write_atomically(&place, &bytes).map_err(raise)?;
    Ok(Saved::File(file.into()))
}
