//! The live page from outside: what it answers, and what it refuses.

use hosewright::files::Folder;
use hosewright::notebook::live::Live;
use hosewright::script::Context;
use serde_json::json;
use std::io::{Read, Write};
use std::net::{SocketAddr, TcpStream};
use std::path::Path;
use std::sync::Arc;
use std::time::{Duration, Instant};

const STUDY: &str = "// # Twice\nlet l = slider(\"length\", 1.ft, 9.ft, 2.ft);\nl * 2;\n// Apart\n5;\n";

struct Server {
    address: SocketAddr,
    /// The path below which the page is, `/room/`.
    room: String,
    /// The secret in the first address and in the cookie.
    key: String,
    folder: tempfile::TempDir,
}

fn server() -> Server {
    server_of(STUDY)
}

/// A server of this study, with the folder `stock` beside its own as a library.
fn server_of(study: &str) -> Server {
    let outer = tempfile::tempdir().expect("a folder");
    let inside = outer.path().join("garden");
    std::fs::create_dir(&inside).expect("a folder");
    std::fs::write(outer.path().join("secret.csv"), "secret").expect("written");
    std::fs::write(inside.join(".hidden.csv"), "secret").expect("written");
    std::fs::write(inside.join("table.csv"), "a\n1\n").expect("written");
    std::fs::write(inside.join("study.rhai"), study).expect("written");
    let stock = outer.path().join("stock");
    std::fs::create_dir(&stock).expect("a folder");
    std::fs::write(stock.join("parts.rhai"), "export let feed = 30.ft;").expect("written");
    let context = Arc::new(Context::new(Folder::new(&inside).with_libraries(vec![stock])));
    let live = Live::open(&inside.join("study.rhai"), context, 0).expect("a free port");
    let url = live.url();
    let (address, rest) = url.trim_start_matches("http://").split_once('/').expect("a path");
    let (room, key) = rest.split_once("?key=").expect("a secret");
    let (address, room, key) = (address.parse().expect("an address"), format!("/{room}"), key.to_string());
    std::thread::spawn(move || live.serve());
    Server { address, room, key, folder: outer }
}

impl Server {
    fn study(&self) -> std::path::PathBuf {
        self.folder.path().join(Path::new("garden/study.rhai"))
    }

    fn stream(&self) -> TcpStream {
        let stream = TcpStream::connect(self.address).expect("it listens");
        stream.set_read_timeout(Some(Duration::from_secs(20))).expect("a time limit");
        stream
    }

    /// Sends bytes and reads the whole answer.
    fn ask(&self, request: &str) -> String {
        let mut stream = self.stream();
        let _ = stream.write_all(request.as_bytes());
        let mut bytes = Vec::new();
        let _ = stream.read_to_end(&mut bytes);
        String::from_utf8_lossy(&bytes).into_owned()
    }

    /// The headers of our page: its name, and the cookie.
    fn ours(&self) -> String {
        format!("Host: {}\r\nCookie: hosewright={}", self.address, self.key)
    }

    fn get(&self, path: &str) -> String {
        self.ask(&format!("GET {}{path} HTTP/1.1\r\n{}\r\n\r\n", self.room, self.ours()))
    }

    fn set(&self, body: &str) -> String {
        self.ask(&format!("{}Content-Length: {}\r\n\r\n{body}", self.set_head(), body.len()))
    }

    /// A request for values up to its length.
    fn set_head(&self) -> String {
        let (room, ours) = (&self.room, self.ours());
        format!("POST {room}set HTTP/1.1\r\n{ours}\r\nX-Hosewright: page\r\nContent-Type: application/json\r\n")
    }

    /// A stream of events that has said how things stand.
    fn events(&self) -> TcpStream {
        let mut stream = self.stream();
        write!(stream, "GET {}events HTTP/1.1\r\n{}\r\n\r\n", self.room, self.ours()).expect("sent");
        stream
    }

    /// Asks for the page until it holds a text.
    fn page_with(&self, text: &str) -> String {
        let until = Instant::now() + Duration::from_secs(10);
        loop {
            let page = self.get("");
            if page.contains(text) {
                return page;
            }
            assert!(Instant::now() < until, "no {text} in {page}");
            std::thread::sleep(Duration::from_millis(20));
        }
    }
}

/// The mark of the text that a page shows.
fn mark_of(page: &str) -> String {
    let (_, rest) = page.split_once("data-study=\"").expect("a mark");
    rest.split('"').next().unwrap_or_default().to_string()
}

/// The sources of a page that asks to write, and what becomes of the request.
fn write(server: &Server, what: &str, origin: &str, body: &serde_json::Value) -> String {
    let (room, ours, body) = (&server.room, server.ours(), body.to_string());
    let form = format!("X-Hosewright: page\r\nContent-Type: application/json\r\nContent-Length: {}", body.len());
    server.ask(&format!("POST {room}{what} HTTP/1.1\r\n{ours}\r\n{origin}{form}\r\n\r\n{body}"))
}

fn status(answer: &str) -> &str {
    answer.split(' ').nth(1).unwrap_or("nothing")
}

/// Reads until a text has come, and says all that was read.
fn hear(stream: &mut TcpStream, text: &str) -> String {
    let mut heard = String::new();
    let mut some = [0; 4096];
    while !heard.contains(text) {
        let count = stream.read(&mut some).expect("it tells");
        assert!(count > 0, "no {text} in {heard}");
        heard.push_str(&String::from_utf8_lossy(&some[..count]));
    }
    heard
}

#[test]
fn the_page_shows_the_study_and_follows_control_and_file() {
    let server = server();
    let page = server.page_with("4 ft");
    assert!(page.starts_with("HTTP/1.1 200 OK\r\n") && page.contains("<h1 id=\"part-1-1\">Twice</h1>"), "{page}");
    assert_eq!(status(&server.set("{\"values\":[[\"length\",3]]}")), "202");
    server.page_with("6 ft");
    std::fs::write(server.study(), STUDY.replace("l * 2", "l * 30")).expect("written");
    // The slider stays where it was moved to.
    server.page_with("90 ft");
}

#[test]
fn a_page_names_the_library_that_its_study_reads_and_no_other() {
    let server = server_of("// # Borrowed\nimport \"parts\" as parts;\n2 * parts::feed;\n");
    let page = server.page_with("60 ft");
    let line = page.lines().find(|line| line.contains("read from libraries")).expect("a line about libraries");
    let file = Path::new("stock").join("parts.rhai").display().to_string();
    assert!(line.contains(&file) && !line.contains("study.rhai,"), "{line}");
    // A change of the library runs the study again.
    std::fs::write(server.folder.path().join("stock/parts.rhai"), "export let feed = 45.ft;").expect("written");
    server.page_with("90 ft");
    assert!(!self::server().page_with("4 ft").contains("read from libraries"));
}

#[test]
fn events_tell_what_ran() {
    let server = server();
    server.page_with("4 ft");
    let mut stream = server.events();
    hear(&mut stream, "ran all 3 statements");
    server.set("{\"values\":[[\"length\",4]]}");
    hear(&mut stream, "ran 2 of 3 statements, lines 2, 3");
}

#[test]
fn an_open_page_gets_the_cells_of_a_table_that_changed_and_a_new_connection_all_of_it() {
    let server = server_of("let n = slider(\"n\", 1, 9, 2);\n// ## Table\ntable(#{ a: [1, n], b: [5, 6] });\n");
    server.page_with("download as CSV");
    let (end, cell) = ("\n\n", |n: usize| format!("<td class=\\\"number\\\">{n}</td>"));
    let mut stream = server.events();
    let whole = hear(&mut stream, end);
    assert!(whole.contains("\"after\":null") && whole.contains(&cell(2)), "{whole}");
    server.set("{\"values\":[[\"n\",7]]}");
    let news = hear(&mut stream, "\"partial\":false");
    assert!(news.contains("{\"cells\":[2,\"7\",1],\"of\":4}") && !news.contains("<table"), "{news}");
    let whole = hear(&mut server.events(), end);
    assert!(whole.contains("\"after\":null") && whole.contains(&cell(7)), "{whole}");
}

#[test]
fn a_table_is_written_when_somebody_asks_for_it() {
    let server = server_of("let l = slider(\"length\", 1.ft, 9.ft, 2.ft);\ntable([#{ a: l, b: \"x,y\" }]);\n");
    let page = server.page_with("download as CSV");
    assert!(page.contains("href=\"tables/study-1-2-1.csv\""), "{page}");
    let csv = |file: &str| server.get(&format!("tables/{file}"));
    assert!(csv("study-1-2-1.csv").ends_with("a [ft],b\n2,\"x,y\"\n"), "{}", csv("study-1-2-1.csv"));
    server.set(r#"{"values":[["length",5]]}"#);
    server.page_with("5 ft");
    assert!(csv("study-1-2-1.csv").contains("\n5,"), "{}", csv("study-1-2-1.csv"));
    for other in ["study-1-2-2.csv", "study-1-2-1", "..%2fstudy.rhai", "../table.csv", ""] {
        assert_eq!(status(&csv(other)), "404", "{other}");
    }
}

#[test]
fn other_names_and_origins_are_refused() {
    let server = server();
    let (room, key) = (&server.room, &server.key);
    for (headers, expected) in [
        (format!("Host: {}", server.address), "200"),
        ("Host: garden.example".to_string(), "403"),
        ("Host: 127.0.0.1".to_string(), "403"),
        ("X: y".to_string(), "403"),
        (format!("Host: {}\r\nOrigin: http://garden.example", server.address), "403"),
    ] {
        let answer = server.ask(&format!("GET {room} HTTP/1.1\r\nCookie: hosewright={key}\r\n{headers}\r\n\r\n"));
        assert_eq!(status(&answer), expected, "{headers}");
    }
    let ours = server.ours();
    let plain = format!("POST {room}set HTTP/1.1\r\n{ours}\r\nContent-Type: text/plain\r\nContent-Length: 2\r\n\r\n{{}}");
    assert_eq!(status(&server.ask(&plain)), "403");
}

#[test]
fn whoever_has_neither_address_nor_cookie_learns_nothing() {
    let server = server();
    server.page_with("4 ft");
    let (room, host) = (server.room.trim_matches('/'), format!("Host: {}", server.address));
    let mut answers = Vec::new();
    for path in
        ["/", "/table.csv", "/none.csv", "/study.rhai", "/events", "/set", "/edit", "/keep", "/x/", "/x/table.csv", "/x/events"]
    {
        answers.push(server.ask(&format!("GET {path} HTTP/1.1\r\n{host}\r\n\r\n")));
    }
    for (path, cookie) in [
        (format!("/{room}/"), "hosewright=x".to_string()),
        (format!("/{room}/table.csv"), String::new()),
        (format!("/{room}/?key=x"), String::new()),
        (format!("/{room}/events?key={}", server.key), String::new()),
        (format!("/x/?key={}", server.key), format!("hosewright={}", server.key)),
    ] {
        answers.push(server.ask(&format!("GET {path} HTTP/1.1\r\n{host}\r\nCookie: {cookie}\r\n\r\n")));
    }
    let body = "{\"values\":[[\"length\",9]]}";
    let form = format!("X-Hosewright: page\r\nContent-Type: application/json\r\nContent-Length: {}", body.len());
    answers.push(server.ask(&format!("POST /{room}/set HTTP/1.1\r\n{host}\r\n{form}\r\n\r\n{body}")));
    let timeless = |answer: &str| answer.lines().filter(|line| !line.starts_with("date:")).collect::<Vec<_>>().join("\n");
    for answer in &answers {
        assert_eq!(timeless(answer), timeless(&answers[0]));
        assert_eq!(status(answer), "403", "{answer}");
        assert!(!answer.contains("set-cookie") && !answer.contains(room), "{answer}");
    }
    server.page_with("4 ft"); // The slider was not moved.
}

#[test]
fn the_first_address_gives_a_cookie_that_no_script_and_no_other_page_has() {
    let server = server();
    let answer = server.ask(&format!("GET {}?key={} HTTP/1.1\r\nHost: {}\r\n\r\n", server.room, server.key, server.address));
    assert_eq!(status(&answer), "200", "{answer}");
    let cookie = answer.lines().find_map(|line| line.strip_prefix("set-cookie: ")).expect("a cookie");
    assert_eq!(cookie, format!("hosewright={}; Path={}; HttpOnly; SameSite=Strict", server.key, server.room));
}

#[test]
fn every_answer_says_what_a_browser_may_do_with_it() {
    let server = server();
    std::fs::write(server.folder.path().join("garden/a.svg"), "<svg onload=\"x\"/>").expect("written");
    server.page_with("4 ft");
    for path in ["", "a.svg", "table.csv", "none.csv", "study.rhai"] {
        let answer = server.get(path);
        let header = |name: &str| answer.lines().find_map(|line| line.strip_prefix(&format!("{name}: ")).map(String::from));
        let rules = header("content-security-policy").expect("rules");
        assert!(rules.starts_with("default-src 'none'; ") && rules.contains("frame-ancestors 'none'"), "{rules}");
        // Only the page itself runs a script, and that is ours; a file that is opened by itself runs none.
        assert_eq!(rules.contains("script-src 'sha256-"), path.is_empty(), "{rules}");
        assert_eq!(rules.contains("sandbox"), !path.is_empty(), "{rules}");
        assert_eq!(header("x-content-type-options").as_deref(), Some("nosniff"));
        assert_eq!(header("referrer-policy").as_deref(), Some("no-referrer"));
        assert_eq!(header("cache-control").as_deref(), Some("no-store"));
    }
}

#[test]
fn only_files_of_the_folder_are_served() {
    let server = server();
    assert!(server.get("table.csv").ends_with("a\n1\n"));
    for path in [
        "../secret.csv",
        "%2e%2e/secret.csv",
        "..%2fsecret.csv",
        "a/../../secret.csv",
        "/etc/passwd",
        "//etc/passwd",
        ".hidden.csv",
        "..\\secret.csv",
        "none.csv",
        "etc/passwd",
        "%2fetc/passwd",
    ] {
        let answer = server.get(path);
        assert!(matches!(status(&answer), "404" | "400") && !answer.contains("secret"), "{path}: {answer}");
    }
}

#[test]
fn huge_requests_are_refused() {
    let server = server();
    let line = "x".repeat(20_000);
    assert_eq!(status(&server.get(&line)), "431");
    assert_eq!(status(&server.ask(&format!("{}Content-Length: 99999999\r\n\r\n", server.set_head()))), "413");
    // In pieces it is cut off as well.
    let piece = format!("1000\r\n{}\r\n", "x".repeat(0x1000));
    let chunked = format!("{}Transfer-Encoding: chunked\r\n\r\n{piece}{piece}0\r\n\r\n", server.set_head());
    assert_eq!(status(&server.ask(&chunked)), "413");
    for body in ["{\"values\":[[\"length\",1e999]]}", "{}", "[", "{\"values\":[[\"length\",\"a\"]]}"] {
        assert_eq!(status(&server.set(body)), "400", "{body}");
    }
    server.page_with("4 ft");
}

#[test]
fn requests_of_other_forms_are_refused() {
    let server = server();
    let (room, ours, set) = (&server.room, server.ours(), server.set_head());
    let host = format!("Host: {}", server.address);
    for (request, expected) in [
        (format!("PUT {room} HTTP/1.1\r\n{ours}\r\n\r\n"), "405"),
        (format!("DELETE {room}study.rhai HTTP/1.1\r\n{ours}\r\n\r\n"), "405"),
        (format!("OPTIONS {room}set HTTP/1.1\r\n{ours}\r\n\r\n"), "405"),
        (format!("OPTIONS * HTTP/1.1\r\n{ours}\r\n\r\n"), "403"),
        (format!("{set}Content-Length: -1\r\n\r\n"), "400"),
        (format!("{set}Content-Length: 5\r\nContent-Length: 6\r\n\r\nhello"), "400"),
        (format!("GET {room} HTTP/1.1\r\n{ours}\r\n{host}\r\n\r\n"), "400"),
        (format!("GET {room}%00table.csv HTTP/1.1\r\n{ours}\r\n\r\n"), "400"),
        (format!("GET {room}table.csv%00.png HTTP/1.1\r\n{ours}\r\n\r\n"), "400"),
        (format!("GET {room}\0 HTTP/1.1\r\n{ours}\r\n\r\n"), "400"),
        (format!("GET {room}%2e%2e%2fsecret.csv HTTP/1.1\r\n{ours}\r\n\r\n"), "404"),
        (format!("GET {room}%252e%252e/secret.csv HTTP/1.1\r\n{ours}\r\n\r\n"), "404"),
        (format!("GET {room}.%2e/secret.csv HTTP/1.1\r\n{ours}\r\n\r\n"), "404"),
    ] {
        let answer = server.ask(&request);
        assert_eq!(status(&answer), expected, "{request}");
        assert!(!answer.contains("secret\n"));
    }
    server.page_with("4 ft");
}

#[test]
fn a_body_in_pieces_and_one_that_waits_to_be_asked_for_are_taken() {
    let server = server();
    server.page_with("4 ft");
    let body = "{\"values\":[[\"length\",3]]}";
    let pieces = format!("{:x}\r\n{body}\r\n0\r\n\r\n", body.len());
    let answer = server.ask(&format!("{}Transfer-Encoding: chunked\r\n\r\n{pieces}", server.set_head()));
    assert_eq!(status(&answer), "202", "{answer}");
    server.page_with("6 ft");
    let mut stream = server.stream();
    let head = format!("{}Content-Length: {}\r\nExpect: 100-continue\r\n\r\n", server.set_head(), body.len());
    stream.write_all(head.as_bytes()).expect("sent");
    hear(&mut stream, "HTTP/1.1 100 Continue\r\n\r\n");
    stream.write_all(body.as_bytes()).expect("sent");
    hear(&mut stream, "HTTP/1.1 202 Accepted\r\n");
}

#[test]
fn the_head_of_an_answer_may_be_asked_for_alone() {
    let server = server();
    server.page_with("4 ft");
    for (path, length) in [("table.csv", Some(4)), ("", None), ("events", None)] {
        let answer = server.ask(&format!("HEAD {}{path} HTTP/1.1\r\n{}\r\n\r\n", server.room, server.ours()));
        assert_eq!(status(&answer), "200", "{path}: {answer}");
        assert!(answer.ends_with("\r\n\r\n"), "no body: {answer}");
        assert!(length.is_none_or(|length| answer.contains(&format!("content-length: {length}\r\n"))), "{answer}");
    }
}

#[test]
fn a_header_of_ten_megabytes_is_cut_off() {
    let server = server();
    let mut stream = server.stream();
    let head = format!("GET {} HTTP/1.1\r\n{}\r\nX-Long: ", server.room, server.ours());
    stream.write_all(head.as_bytes()).expect("sent");
    let part = [b'x'; 64 * 1024];
    let sent = (0..160).take_while(|_| stream.write_all(&part).is_ok()).count();
    let mut answer = Vec::new();
    let _ = stream.read_to_end(&mut answer); // The server may have closed the connection by then.
    let answer = String::from_utf8_lossy(&answer);
    assert!(answer.is_empty() || status(&answer) == "431", "{answer}");
    assert!(sent < 160, "the server must not read all of it");
    server.page_with("4 ft");
}

#[test]
fn a_request_that_trickles_on_is_given_up() {
    let server = server();
    let mut stream = server.stream();
    write!(stream, "GET / HTTP/1.1\r\nHost: {}\r\nX: ", server.address).expect("sent");
    let began = Instant::now();
    while stream.write_all(b"x").is_ok() && began.elapsed() < Duration::from_secs(15) {
        std::thread::sleep(Duration::from_millis(50));
    }
    assert!(began.elapsed() < Duration::from_secs(10), "{:?}", began.elapsed());
    server.page_with("4 ft");
}

#[test]
fn slow_requests_are_given_up_and_do_not_hold_others() {
    let server = server();
    let slow: Vec<TcpStream> = (0..8)
        .map(|_| {
            let mut stream = server.stream();
            stream.write_all(b"GET / HT").expect("sent");
            stream
        })
        .collect();
    server.page_with("4 ft");
    for mut stream in slow {
        let mut answer = String::new();
        stream.read_to_string(&mut answer).expect("an answer");
        assert_eq!(status(&answer), "408");
    }
}

#[test]
fn many_pages_may_be_open_and_those_that_read_nothing_do_not_hold_the_others() {
    let server = server();
    server.page_with("4 ft");
    let silent: Vec<TcpStream> = (0..60).map(|_| server.events()).collect();
    let mut solution: Vec<TcpStream> = (0..60).map(|_| server.events()).collect();
    for stream in &mut solution {
        hear(stream, "ran all 3 statements");
    }
    let began = Instant::now();
    for value in 3..9 {
        server.set(&format!("{{\"values\":[[\"length\",{value}]]}}"));
        server.page_with(&format!("{} ft", 2 * value));
    }
    for stream in &mut solution {
        hear(stream, "16 ft");
    }
    assert!(began.elapsed() < Duration::from_secs(8), "{:?}", began.elapsed());
    drop(silent);
}

#[test]
fn too_many_pages_and_connections_are_told_so_and_the_page_comes_back() {
    let server = server();
    server.page_with("4 ft");
    let mut open: Vec<TcpStream> = (0..160).map(|_| server.events()).collect();
    hear(open.last_mut().expect("one"), "200 OK");
    // The pages hold their connections; a further one is told, and all else is answered.
    let refused = server.get("events");
    assert!(status(&refused) == "503" && refused.contains("retry-after: 2\r\n"), "{refused}");
    assert_eq!(status(&server.get("table.csv")), "200");
    let refused = (0..60).find_map(|_| {
        open.push(server.stream());
        Some(server.get("")).filter(|answer| status(answer) == "503")
    });
    assert!(refused.is_some_and(|answer| answer.contains("too many pages are open")));
    drop(open);
    server.page_with("4 ft");
    hear(&mut server.events(), "ran all 3 statements");
}

#[test]
fn a_changed_cell_is_written_and_runs() {
    let server = server();
    let page = server.page_with("4 ft");
    let origin = format!("Origin: http://{}\r\n", server.address);
    let mut change = json!({ "study": mark_of(&page), "cell": 1, "was": "// Apart\n5;", "text": "// Apart\n500 + 23;" });
    assert_eq!(status(&write(&server, "edit", &origin, &change)), "202");
    assert_eq!(std::fs::read_to_string(server.study()).expect("read"), STUDY.replace("5;", "500 + 23;"));
    let page = server.page_with("523");
    // The text that the first page showed is no longer there.
    let answer = write(&server, "edit", &origin, &change);
    assert!(status(&answer) == "409" && answer.contains("the file has changed meanwhile"), "{answer}");
    // Somebody else saves the file before the page has heard of it.
    change["study"] = json!(mark_of(&page));
    change["was"] = json!("// Apart\n500 + 23;");
    std::fs::write(server.study(), STUDY.replace("5;", "77 + 7;")).expect("written");
    assert_eq!(status(&write(&server, "edit", &origin, &change)), "409");
    assert_eq!(std::fs::read_to_string(server.study()).expect("read"), STUDY.replace("5;", "77 + 7;"));
    server.page_with("84");
}

#[test]
fn values_are_written_as_the_starts_of_controls() {
    let server = server();
    let page = server.page_with("4 ft");
    let origin = format!("Origin: http://{}\r\n", server.address);
    let values = json!([["length", 3.5], ["no such control", 1]]);
    let kept = write(&server, "keep", &origin, &json!({ "study": mark_of(&page), "values": values }));
    assert_eq!(status(&kept), "202", "{kept}");
    assert_eq!(std::fs::read_to_string(server.study()).expect("read"), STUDY.replace("2.ft)", "3.5.ft)"));
    server.page_with("7 ft");
    let kept = write(&server, "keep", &origin, &json!({ "study": mark_of(&page), "values": values }));
    assert_eq!(status(&kept), "409", "the page shows another text");
}

#[test]
fn only_the_page_itself_writes_and_only_its_study() {
    let server = server();
    let page = server.page_with("4 ft");
    let change = json!({ "study": mark_of(&page), "cell": 1, "was": "// Apart\n5;", "text": "struck" });
    let ours = format!("Origin: http://{}\r\n", server.address);
    for (origin, expected) in [
        ("", "403"),
        ("Origin: null\r\n", "403"),
        ("Origin: http://garden.example\r\n", "403"),
        ("Origin: http://127.0.0.1:1\r\n", "403"),
        (&format!("{ours}Sec-Fetch-Site: cross-site\r\n"), "403"),
        (&format!("{ours}{ours}"), "400"),
    ] {
        for what in ["edit", "keep"] {
            assert_eq!(status(&write(&server, what, origin, &change)), expected, "{what} {origin}");
        }
    }
    // Without the cookie, and under a path that is not ours.
    let body = change.to_string();
    let form = format!("{ours}X-Hosewright: page\r\nContent-Type: application/json\r\nContent-Length: {}", body.len());
    let host = format!("Host: {}", server.address);
    let key = format!("Cookie: hosewright={}", server.key);
    for (path, cookie) in
        [(format!("{}edit", server.room), "X: y".to_string()), ("/x/edit".into(), key.clone()), ("/edit".into(), key)]
    {
        let answer = server.ask(&format!("POST {path} HTTP/1.1\r\n{host}\r\n{cookie}\r\n{form}\r\n\r\n{body}"));
        assert_eq!(status(&answer), "403", "{path}");
    }
    // No path comes from the page: names of files are no names here, nor is anything else in the body.
    for (what, body) in [
        ("edit", json!({ "study": mark_of(&page), "file": "../secret.csv", "text": "struck" })),
        ("edit", json!({ "study": mark_of(&page), "cell": -1, "was": "", "text": "struck" })),
        ("edit", json!([])),
        ("keep", json!({ "study": mark_of(&page), "values": { "length": 3 } })),
    ] {
        assert_eq!(status(&write(&server, what, &ours, &body)), "400", "{body}");
    }
    for path in ["edit/../study.rhai", "study.rhai", "table.csv", "edit/", "..%2fsecret.csv"] {
        assert_eq!(status(&write(&server, path, &ours, &change)), "404", "{path}");
    }
    let long = json!({ "study": mark_of(&page), "cell": 1, "was": "// Apart\n5;", "text": "x".repeat(256 * 1024 + 100) });
    assert_eq!(status(&write(&server, "edit", &ours, &long)), "413");
    assert_eq!(std::fs::read_to_string(server.study()).expect("read"), STUDY);
    assert_eq!(std::fs::read_to_string(server.folder.path().join("secret.csv")).expect("read"), "secret");
    assert_eq!(std::fs::read_dir(server.folder.path().join("garden")).expect("a folder").count(), 3, "nothing is left beside it");
    server.page_with("4 ft");
}

#[test]
fn a_value_ends_a_long_run_and_of_many_values_the_last_of_each_control_counts() {
    let slow = "let a = slider(\"a\", 0, 900, 1); let b = slider(\"b\", 0, 900, 1);\nlet t = 0;\n\
                if a == 2 { loop { t += 1; } }\n`sum ${a + b}`;\n";
    let server = server_of(slow);
    server.page_with("sum 2");
    // With this value the study would run for ever.
    server.set("{\"values\":[[\"a\",2]]}");
    std::thread::sleep(Duration::from_millis(300));
    for body in ["[[\"a\",100]]", "[[\"a\",200]]", "[[\"b\",50]]"] {
        server.set(&format!("{{\"values\":{body}}}"));
    }
    server.page_with("sum 250");
    // Back to the start.
    server.set("{\"values\":[[\"a\",null]]}");
    server.page_with("sum 51");
}
