//! What `src/script` relies on in the script engine, beyond what the engine promises: forms of its syntax tree, tokens, words of its
//! errors, signatures. When one of these fails after an update of the engine, the file it names is to be mended, then the test.

use rhai::{AST, ASTNode, Engine, EvalAltResult, Expr, Stmt, Token};

/// The part of a syntax tree that one pattern of `src/script` finds.
fn found(script: &str, pattern: impl Fn(&ASTNode) -> Option<String>) -> Vec<String> {
    let mut engine = Engine::new();
    engine.set_optimization_level(rhai::OptimizationLevel::None);
    let ast = engine.compile(script).expect("the script is right");
    let mut all = Vec::new();
    ast.walk(&mut |path| {
        all.extend(path.last().and_then(&pattern));
        true
    });
    all
}

#[test]
fn the_syntax_tree_has_the_forms_that_written_rs_looks_for() {
    let told = "the engine builds another syntax tree: mend src/script/language/written.rs";
    let maps = found("let m = #{ b: 1, a: 2 };", |node| match node {
        ASTNode::Expr(Expr::Map(map, _)) => Some(map.0.iter().map(|(name, _)| name.name.as_str()).collect::<Vec<_>>().join(" ")),
        _ => None,
    });
    assert_eq!(maps, ["b a"], "{told}: names of a map in the order in which they are written");
    let calls = found("let y = f(g(1));", |node| match node {
        ASTNode::Expr(Expr::FnCall(call, _)) => Some(call.name.to_string()),
        _ => None,
    });
    assert_eq!(calls, ["f", "g"], "{told}: calls of functions");
    let assigned = found("let m = 0; m.flow = 1; m[\"head\"] = 2;", |node| match node {
        ASTNode::Stmt(Stmt::Assignment(assignment)) => match &assignment.1.lhs {
            Expr::Dot(pair, ..) | Expr::Index(pair, ..) => match &pair.rhs {
                Expr::Property(property, _) => Some(format!("property {}", property.2)),
                Expr::StringConstant(name, _) => Some(format!("text {name}")),
                _ => None,
            },
            _ => None,
        },
        _ => None,
    });
    assert_eq!(assigned, ["property flow", "text head"], "{told}: assignments to what is inside of a value");
}

#[test]
fn statements_have_the_forms_that_session_rs_looks_for() {
    let told = "the engine builds other statements: mend src/script/language/session.rs";
    let kinds = |script: &str| -> Vec<&'static str> {
        let mut engine = Engine::new();
        engine.set_optimization_level(rhai::OptimizationLevel::None);
        let ast = engine.compile(script).expect("the script is right");
        ast.statements()
            .iter()
            .map(|stmt| match stmt {
                Stmt::Var(..) => "variable",
                Stmt::Assignment(_) => "assignment",
                Stmt::Import(..) => "import",
                Stmt::Export(..) => "export",
                Stmt::Return(_, flags, _) if flags.contains(rhai::ASTFlags::BREAK) => "throw",
                Stmt::Return(..) => "return",
                Stmt::Expr(_) => "value",
                Stmt::Noop(_) => "nothing",
                _ => "other",
            })
            .collect()
    };
    assert_eq!(kinds("let a = 1; a = 2; a; f(1);"), ["variable", "assignment", "value", "value"], "{told}");
    assert_eq!(kinds("import \"beds\" as b; export b as c;"), ["import", "export"], "{told}");
    assert_eq!(kinds("return 5;"), ["return"], "{told}");
    assert_eq!(kinds("throw 5;"), ["throw"], "{told}");
    let positions: Vec<_> = Engine::new()
        .compile("let a = 1;\n  f(a);")
        .expect("the script is right")
        .statements()
        .iter()
        .map(|stmt| (stmt.position().line(), stmt.position().position()))
        .collect();
    assert_eq!(positions, [(Some(1), Some(1)), (Some(2), Some(3))], "{told}: where statements begin");
}

#[test]
fn closures_are_functions_whose_names_begin_as_explain_rs_expects() {
    let ast: AST = Engine::new().compile("let f = |x| x + 1;").expect("the script is right");
    let names: Vec<String> = ast.iter_functions().map(|function| function.name.to_string()).collect();
    assert!(
        names.len() == 1 && names[0].starts_with("anon$"),
        "the engine names closures otherwise: mend src/script/language/explain.rs and src/script/language/written.rs: {names:?}"
    );
}

#[test]
#[allow(deprecated, reason = "the engine marks this call as one that may change; its version is pinned")]
fn tokens_are_the_ones_that_engine_rs_and_caught_rs_look_at() {
    let mut engine = Engine::new();
    let seen = std::sync::Arc::new(std::sync::Mutex::new(Vec::new()));
    let notes = seen.clone();
    engine.on_parse_token(move |token, _, _| {
        let name = match &token {
            Token::Reserved(word) => format!("reserved {word}"),
            Token::Identifier(word) => format!("name {word}"),
            Token::FloatConstant(number) => format!("number {} finite {}", number.1, number.0.is_finite()),
            Token::Catch => "catch".into(),
            Token::LeftParen => "(".into(),
            _ => String::new(),
        };
        notes.lock().expect("no panic").push(name);
        token
    });
    let _ = engine.compile("try { x } catch (e) { 1e999 } spawn");
    let seen: Vec<String> = seen.lock().expect("no panic").iter().filter(|name| !name.is_empty()).cloned().collect();
    let expected = ["name x", "catch", "(", "name e", "number 1e999 finite false", "reserved spawn"];
    assert_eq!(
        seen, expected,
        "the engine cuts scripts otherwise: mend src/script/language/engine.rs and src/script/language/caught.rs"
    );
}

/// The error of a script as the engine tells it, with a place.
fn told(script: &str) -> String {
    let mut engine = Engine::new();
    engine.set_fail_on_invalid_map_property(true);
    engine.register_fn("only_text", |_: &str| ());
    engine.register_get("x", |number: &mut f64| *number);
    let error: Box<EvalAltResult> = engine.run(script).expect_err(script);
    error.to_string()
}

#[test]
fn errors_are_told_in_the_words_that_explain_rs_and_caught_rs_read() {
    let cases = [
        ("nowhere + 1", "Variable not found: nowhere (line 1, position 1)"),
        ("let m = #{ a: 1 }; m.b", "Property not found: b (line 1, position 22)"),
        ("nowhere(1, \"a\")", "Function not found: nowhere (i64, &str | ImmutableString | String) (line 1, position 1)"),
        ("let a = 1; a.b", "Unknown property 'b' - a getter is not registered for type 'i64' (line 1, position 14)"),
        (
            "let a = 1.0; a.x = 2.0",
            "No writable property 'x' - a setter is not registered for type 'f64' to handle 'f64' (line 1, position 16)",
        ),
        ("9223372036854775807 + 1", "Addition overflow: 9223372036854775807 + 1 (line 1, position 21)"),
        ("1 / 0", "Division by zero: 1 / 0 (line 1, position 3)"),
        ("[1][5]", "Array index 5 out of bounds: only 1 element in array (line 1, position 5)"),
        ("\"ab\"[5]", "String index 5 out of bounds: only 2 characters in string (line 1, position 6)"),
        ("let x = 5.0; for i in x { }", "For loop expects iterable type (line 1, position 23)"),
        ("let x = 5; if x { x += 1; }", "Data type incorrect: i64 (expecting bool) (line 1, position 15)"),
        ("const L = [1]; L.push(2)", "Non-pure method 'push' cannot be called on constant (line 1, position 18)"),
        ("throw \"dry\"", "Runtime error: dry (line 1, position 1)"),
        (
            "fn f() { nowhere } f()",
            "Variable not found: nowhere (line 1, position 10)\nin call to function 'f' (line 1, position 20)",
        ),
    ];
    let differences: Vec<String> = cases
        .iter()
        .filter(|(script, expected)| told(script) != *expected)
        .map(|(script, expected)| format!("{script}\n  expected {expected}\n  found    {}", told(script)))
        .collect();
    assert!(
        differences.is_empty(),
        "the engine tells its errors in other words: mend src/script/language/explain.rs and src/script/language/caught.rs\n{}",
        differences.join("\n")
    );
}

#[test]
fn signatures_and_comments_are_told_as_names_rs_and_reference_rs_read_them() {
    mod words {
        use rhai::plugin::*;

        #[export_module]
        pub mod inner {
            /// Doubles.
            pub fn twice(number: i64, of: &str) -> i64 {
                let _ = of;
                number * 2
            }
        }
    }
    let mut engine = Engine::new_raw();
    engine.register_global_module(rhai::exported_module!(words::inner).into());
    let all = engine.collect_fn_metadata(
        None,
        |function| {
            let data = function.metadata;
            let list = |texts: Vec<String>| texts.join(" | ");
            Some(format!(
                "{} of {}: {}; {}",
                data.name,
                data.num_params,
                list(data.params_info.iter().map(ToString::to_string).collect()),
                list(data.comments.iter().map(ToString::to_string).collect())
            ))
        },
        false,
    );
    assert_eq!(
        all,
        ["twice of 2: number: i64 | of: &str; /// Doubles."],
        "the engine tells of its functions otherwise: mend src/script/language/names.rs and src/script/language/vocabulary.rs"
    );
}
