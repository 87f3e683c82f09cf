//! Types of values in words, for messages, and what can be a name.

/// True for what can be the name of a function or variable.
pub fn is_name(text: &str) -> bool {
    text.starts_with(|c: char| c.is_alphabetic() || c == '_') && text.chars().all(|c| c.is_alphanumeric() || c == '_')
}

/// A type of the engine in words.
pub fn type_in_words(name: &str) -> &str {
    let name = name.trim();
    let short = name.rsplit("::").next().unwrap_or(name);
    match short {
        "i64" => "a whole number",
        "f64" => "a number",
        "bool" => "true or false",
        "char" => "a character",
        "string" | "String" | "ImmutableString" | "&str" => "a string",
        "array" | "Array" | "Vec<Dynamic>" => "a list",
        "map" | "Map" => "a map",
        "Fn" | "FnPtr" => "a function",
        "()" => "no value",
        "blob" => "bytes",
        "an iterable value" => "a list, a map or a range",
        "a boolean expression" => "true or false",
        "range" | "Range<i64>" | "RangeInclusive<i64>" | "range=" => "a range",
        "Quantity" => "a quantity",
        "TableColumn" => "a column",
        "Moment" => "a date",
        "Dynamic" | "?" => "any value",
        _ if name.contains("Dynamic>") => "a list",
        _ if name.contains("Range") => "a range",
        _ if name.contains("ImmutableString") => "a string",
        _ => short,
    }
}

/// A Rust type in words, for messages that do not know the name it was registered with: `PumpCurve` is a pump curve.
pub fn rust_type_in_words(path: &str) -> String {
    let known = type_in_words(path);
    if !known.starts_with(char::is_uppercase) {
        return known.to_string();
    }
    let mut words = String::new();
    for c in known.chars().take_while(|c| *c != '<') {
        if c.is_uppercase() && !words.is_empty() {
            words.push(' ');
        }
        words.extend(c.to_lowercase());
    }
    let article = if words.starts_with(['a', 'e', 'i', 'o', 'u']) { "an" } else { "a" };
    format!("{article} {words}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rust_types_become_words() {
        assert_eq!(rust_type_in_words("hosewright::parts::PumpCurve"), "a pump curve");
        assert_eq!(rust_type_in_words("x::Emitter"), "an emitter");
        assert_eq!(rust_type_in_words("i64"), "a whole number");
        assert_eq!(rust_type_in_words("alloc::vec::Vec<rhai::types::dynamic::Dynamic>"), "a list");
    }
}
