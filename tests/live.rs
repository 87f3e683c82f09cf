//! The live page from outside: what it answers, and what it refuses.

use hosewright::files::Folder;
use hosewright::notebook::live::Live;
use hosewright::script::Context;
use std::io::{Read, Write};
use std::net::{Shutdown, SocketAddr, TcpStream};
use std::path::Path;
use std::sync::Arc;
use std::time::{Duration, Instant};

const STUDY: &str = "// # Twice\nlet l = slider(\"length\", 1.ft, 9.ft, 2.ft);\nl * 2;\n// Apart\n5;\n";

struct Server {
    address: SocketAddr,
    folder: tempfile::TempDir,
}

fn server() -> Server {
    let outer = tempfile::tempdir().expect("a folder");
    let inside = outer.path().join("garden");
    std::fs::create_dir(&inside).expect("a folder");
    std::fs::write(outer.path().join("secret.csv"), "secret").expect("written");
    std::fs::write(inside.join(".hidden.csv"), "secret").expect("written");
    std::fs::write(inside.join("table.csv"), "a\n1\n").expect("written");
    std::fs::write(inside.join("study.rhai"), STUDY).expect("written");
    let context = Arc::new(Context::new(Folder::new(&inside)));
    let live = Live::open(&inside.join("study.rhai"), context, 0).expect("a free port");
    let address = live.url().trim_start_matches("http://").trim_end_matches('/').parse().expect("an address");
    std::thread::spawn(move || live.serve());
    Server { address, folder: outer }
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
        let _ = stream.shutdown(Shutdown::Write);
        let mut bytes = Vec::new();
        let _ = stream.read_to_end(&mut bytes);
        String::from_utf8_lossy(&bytes).into_owned()
    }

    fn get(&self, path: &str) -> String {
        self.ask(&format!("GET {path} HTTP/1.1\r\nHost: {}\r\n\r\n", self.address))
    }

    fn slide(&self, body: &str) -> String {
        let head =
            format!("POST /slide HTTP/1.1\r\nHost: {}\r\nX-Hosewright: slide\r\nContent-Type: application/json", self.address);
        self.ask(&format!("{head}\r\nContent-Length: {}\r\n\r\n{body}", body.len()))
    }

    /// Asks for the page until it holds a text.
    fn page_with(&self, text: &str) -> String {
        let until = Instant::now() + Duration::from_secs(10);
        loop {
            let page = self.get("/");
            if page.contains(text) {
                return page;
            }
            assert!(Instant::now() < until, "no {text} in {page}");
            std::thread::sleep(Duration::from_millis(20));
        }
    }
}

fn status(answer: &str) -> &str {
    answer.split(' ').nth(1).unwrap_or("nothing")
}

#[test]
fn the_page_shows_the_study_and_follows_slider_and_file() {
    let server = server();
    let page = server.page_with("4 ft");
    assert!(page.starts_with("HTTP/1.1 200 OK\r\n") && page.contains("<h1 id=\"part-1-1\">Twice</h1>"), "{page}");
    assert_eq!(status(&server.slide("{\"name\":\"length\",\"value\":3}")), "202");
    server.page_with("6 ft");
    std::fs::write(server.study(), STUDY.replace("l * 2", "l * 30")).expect("written");
    // The slider stays where it was moved to.
    server.page_with("90 ft");
}

#[test]
fn events_tell_what_ran() {
    let server = server();
    server.page_with("4 ft");
    let mut stream = server.stream();
    write!(stream, "GET /events HTTP/1.1\r\nHost: {}\r\n\r\n", server.address).expect("sent");
    let mut heard = String::new();
    let mut hear = |text: &str| {
        let mut some = [0; 4096];
        while !heard.contains(text) {
            let count = stream.read(&mut some).expect("it tells");
            assert!(count > 0, "no {text} in {heard}");
            heard.push_str(&String::from_utf8_lossy(&some[..count]));
        }
    };
    hear("ran all 3 statements");
    server.slide("{\"name\":\"length\",\"value\":4}");
    hear("ran 2 of 3 statements, lines 2, 3");
}

#[test]
fn other_names_and_origins_are_refused() {
    let server = server();
    for (headers, expected) in [
        (format!("Host: {}", server.address), "200"),
        ("Host: garden.example".to_string(), "403"),
        ("Host: 127.0.0.1".to_string(), "403"),
        ("X: y".to_string(), "403"),
        (format!("Host: {}\r\nOrigin: http://garden.example", server.address), "403"),
    ] {
        assert_eq!(status(&server.ask(&format!("GET / HTTP/1.1\r\n{headers}\r\n\r\n"))), expected, "{headers}");
    }
    let plain =
        format!("POST /slide HTTP/1.1\r\nHost: {}\r\nContent-Type: text/plain\r\nContent-Length: 2\r\n\r\n{{}}", server.address);
    assert_eq!(status(&server.ask(&plain)), "403");
}

#[test]
fn only_files_of_the_folder_are_served() {
    let server = server();
    assert!(server.get("/table.csv").ends_with("a\n1\n"));
    for path in [
        "/../secret.csv",
        "/%2e%2e/secret.csv",
        "/..%2fsecret.csv",
        "/a/../../secret.csv",
        "//etc/passwd",
        "/.hidden.csv",
        "/..\\secret.csv",
        "/none.csv",
        "/etc/passwd",
    ] {
        let answer = server.get(path);
        assert!(matches!(status(&answer), "404" | "400") && !answer.contains("secret"), "{path}: {answer}");
    }
}

#[test]
fn huge_requests_are_refused() {
    let server = server();
    let line = "x".repeat(20_000);
    assert_eq!(status(&server.get(&format!("/{line}"))), "431");
    let head = format!("POST /slide HTTP/1.1\r\nHost: {}\r\nContent-Length: 99999999\r\n\r\n", server.address);
    assert_eq!(status(&server.ask(&head)), "413");
    for body in ["{\"name\":\"length\",\"value\":1e999}", "{}", "[", "{\"name\":\"length\",\"value\":\"a\"}"] {
        assert_eq!(status(&server.slide(body)), "400", "{body}");
    }
    server.page_with("4 ft");
}

#[test]
fn requests_of_other_forms_are_refused() {
    let server = server();
    let host = format!("Host: {}", server.address);
    for (request, expected) in [
        (format!("PUT / HTTP/1.1\r\n{host}\r\n\r\n"), "405"),
        (format!("DELETE /study.rhai HTTP/1.1\r\n{host}\r\n\r\n"), "405"),
        (format!("POST /slide HTTP/1.1\r\n{host}\r\nTransfer-Encoding: chunked\r\n\r\n5\r\nhello\r\n0\r\n\r\n"), "400"),
        (format!("POST /slide HTTP/1.1\r\n{host}\r\nContent-Length: -1\r\n\r\n"), "400"),
        (format!("GET / HTTP/1.1\r\n{host}\r\n{host}\r\n\r\n"), "400"),
        (format!("GET /%00table.csv HTTP/1.1\r\n{host}\r\n\r\n"), "400"),
        (format!("GET /table.csv%00.png HTTP/1.1\r\n{host}\r\n\r\n"), "400"),
        (format!("GET /\0 HTTP/1.1\r\n{host}\r\n\r\n"), "400"),
        (format!("GET /%2e%2e%2fsecret.csv HTTP/1.1\r\n{host}\r\n\r\n"), "404"),
        (format!("GET /%252e%252e/secret.csv HTTP/1.1\r\n{host}\r\n\r\n"), "404"),
        (format!("GET /.%2e/secret.csv HTTP/1.1\r\n{host}\r\n\r\n"), "404"),
    ] {
        let answer = server.ask(&request);
        assert_eq!(status(&answer), expected, "{request}");
        assert!(!answer.contains("secret\n"));
    }
    server.page_with("4 ft");
}

#[test]
fn a_header_of_ten_megabytes_is_cut_off() {
    let server = server();
    let mut stream = server.stream();
    let head = format!("GET / HTTP/1.1\r\nHost: {}\r\nX-Long: ", server.address);
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
fn many_connections_are_bounded_and_the_page_comes_back() {
    let server = server();
    let open: Vec<TcpStream> = (0..60).filter_map(|_| TcpStream::connect(server.address).ok()).collect();
    std::thread::sleep(Duration::from_millis(200));
    assert_eq!(status(&server.get("/")), "503");
    drop(open);
    server.page_with("4 ft");
}
