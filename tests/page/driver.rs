//! A browser without a window, driven by WebDriver (W3C Recommendation "WebDriver", 5 June 2018): JSON over HTTP to chromedriver.

use crate::http::send;
use serde_json::{Value, json};
use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

/// The key under which an element's name stands in answers (section 11 of the recommendation).
const ELEMENT: &str = "element-6066-11e4-a52e-4f735466cecf";
/// Anything that is waited for is there within this.
const WAIT: Duration = Duration::from_secs(40);

/// A browser; it ends with this value.
#[derive(Debug)]
pub(crate) struct Driver {
    process: Child,
    host: String,
    session: String,
}

impl Driver {
    /// A new browser that keeps what it downloads in a folder; words that say what to install where there is none.
    pub(crate) fn start(downloads: &Path) -> Result<Self, String> {
        let missing = |what: &str| format!("{what}: apt-get install chromium chromium-driver");
        let mut process = Command::new("chromedriver")
            .arg("--port=0")
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .map_err(|_| missing("there is no chromedriver here"))?;
        let mut lines = BufReader::new(process.stdout.take().expect("piped")).lines().map_while(Result::ok);
        let port = lines.find_map(|line| {
            line.split("successfully on port ")
                .nth(1)
                .and_then(|rest| rest.trim_end_matches('.').parse::<u16>().ok())
        });
        // Whatever else it says is read away, so that it never waits for a reader.
        std::thread::spawn(move || lines.for_each(drop));
        let host = format!("127.0.0.1:{}", port.ok_or_else(|| missing("chromedriver does not start"))?);
        let mut driver = Self { process, host, session: String::new() };
        let options = json!({
            "args": ["--headless=new", "--no-sandbox", "--disable-dev-shm-usage", "--disable-gpu", "--hide-scrollbars",
                "--window-size=1280,900", "--force-prefers-reduced-motion"],
            "prefs": { "download.default_directory": downloads, "download.prompt_for_download": false },
        });
        let wanted = json!({ "capabilities": { "alwaysMatch": { "browserName": "chrome", "goog:chromeOptions": options } } });
        let begun = driver
            .call("POST", "/session", &wanted)
            .map_err(|e| missing(&format!("Chromium does not start ({e})")))?;
        driver.session = format!("/session/{}", begun["sessionId"].as_str().expect("a session"));
        Ok(driver)
    }

    fn call(&self, method: &str, path: &str, body: &Value) -> Result<Value, String> {
        let body = if method == "GET" { String::new() } else { body.to_string() };
        let headers = format!("Host: {}\r\nContent-Type: application/json\r\n", self.host);
        let answer = send(&self.host, method, &format!("{}{path}", self.session), &headers, body.as_bytes());
        let value: Value = serde_json::from_slice(&answer.body).map_err(|e| e.to_string())?;
        let value = value["value"].clone();
        if answer.status == 200 {
            Ok(value)
        } else {
            Err(value["message"].as_str().unwrap_or("?").to_owned())
        }
    }

    fn done(&self, method: &str, path: &str, body: &Value) -> Value {
        self.call(method, path, body).unwrap_or_else(|e| panic!("{method} {path} {}: {e}", short(body)))
    }

    pub(crate) fn go(&self, address: &str) {
        self.done("POST", "/url", &json!({ "url": address }));
    }

    pub(crate) fn size(&self, width: u32, height: u32) {
        let metrics = json!({ "width": width, "height": height, "deviceScaleFactor": 1, "mobile": false });
        self.developer("Emulation.setDeviceMetricsOverride", &metrics);
    }

    pub(crate) fn dark(&self, on: bool) {
        let scheme = json!({ "name": "prefers-color-scheme", "value": if on { "dark" } else { "light" } });
        self.developer("Emulation.setEmulatedMedia", &json!({ "features": [scheme] }));
    }

    fn developer(&self, command: &str, values: &Value) {
        self.done("POST", "/goog/cdp/execute", &json!({ "cmd": command, "params": values }));
    }

    /// Runs the body of a function; `arguments` are its arguments.
    pub(crate) fn run(&self, script: &str, arguments: &Value) -> Value {
        self.done("POST", "/execute/sync", &json!({ "script": script, "args": arguments }))
    }

    /// Runs the body of a function that calls its last argument with what it found.
    pub(crate) fn run_until_told(&self, script: &str) -> Value {
        self.done("POST", "/execute/async", &json!({ "script": script, "args": [] }))
    }

    /// Waits until an expression is true, and tells its value.
    pub(crate) fn until(&self, expression: &str) -> Value {
        let began = Instant::now();
        loop {
            let value = self.run(&format!("return {expression}"), &json!([]));
            if ![Value::Null, Value::Bool(false), json!("")].contains(&value) {
                return value;
            }
            let told = "return document.getElementById('told')?.textContent";
            assert!(
                began.elapsed() < WAIT,
                "waited for {expression}; the page tells {}",
                self.run(told, &json!([]))
            );
            std::thread::sleep(Duration::from_millis(25));
        }
    }

    fn element(&self, selector: &str) -> String {
        self.until(&format!("!!document.querySelector({selector:?})"));
        let found = self.done("POST", "/element", &json!({ "using": "css selector", "value": selector }));
        format!("/element/{}", found[ELEMENT].as_str().expect("an element"))
    }

    pub(crate) fn click(&self, selector: &str) {
        // As a person scrolls: to where nothing lies over it.
        self.element(selector);
        self.run(
            &format!("document.querySelector({selector:?}).scrollIntoView({{ block: 'center' }})"),
            &json!([]),
        );
        self.done("POST", &format!("{}/click", self.element(selector)), &json!({}));
    }

    /// Clicks the first button or link inside `selector` that says these words.
    pub(crate) fn press(&self, selector: &str, words: &str) {
        let find = format!(
            "[...document.querySelectorAll({selector:?})].find((n) => n.textContent.trim() === {words:?})"
        );
        self.until(&format!("!!{find}"));
        let found = self.run(&format!("return {find}"), &json!([]));
        let path = format!("/element/{}/click", found[ELEMENT].as_str().expect("an element"));
        self.done("POST", &path, &json!({}));
    }

    /// Types into a field, key by key, as a person would; a file's path into a field for files.
    pub(crate) fn enter(&self, selector: &str, text: &str) {
        self.done("POST", &format!("{}/value", self.element(selector)), &json!({ "text": text }));
    }

    /// Drags with a `mouse` or a finger (`touch`) from one place of the window to another, in pixels.
    pub(crate) fn drag(&self, with: &str, from: (f64, f64), to: (f64, f64)) {
        let go = |(x, y): (f64, f64), ms: u32| json!({ "type": "pointerMove", "duration": ms, "x": x.round(), "y": y.round() });
        let half = (from.0.midpoint(to.0), from.1.midpoint(to.1));
        let actions = json!([go(from, 0), { "type": "pointerDown", "button": 0 }, go(half, 60), go(to, 60),
            { "type": "pause", "duration": 60 }, { "type": "pointerUp", "button": 0 }]);
        let pointer = json!({ "type": "pointer", "id": with, "parameters": { "pointerType": with }, "actions": actions });
        self.done("POST", "/actions", &json!({ "actions": [pointer] }));
    }

    /// Presses keys one after another, whatever has the focus.
    pub(crate) fn keys(&self, keys: &[char]) {
        let press = |key: &char| {
            [json!({ "type": "keyDown", "value": key }), json!({ "type": "keyUp", "value": key })]
        };
        let actions: Vec<Value> = keys.iter().flat_map(press).collect();
        let keyboard = json!({ "type": "key", "id": "keyboard", "actions": actions });
        self.done("POST", "/actions", &json!({ "actions": [keyboard] }));
    }

    /// Chooses an option by its value.
    pub(crate) fn choose(&self, selector: &str, value: &str) {
        self.click(&format!("{selector} option[value=\"{value}\"]"));
    }

    /// What is seen, as a PNG.
    pub(crate) fn picture(&self) -> Vec<u8> {
        from_base64(self.done("GET", "/screenshot", &json!({})).as_str().expect("a picture"))
    }
}

impl Drop for Driver {
    fn drop(&mut self) {
        let _ = self.call("DELETE", "", &json!({}));
        let _ = self.process.kill();
        let _ = self.process.wait();
    }
}

fn short(body: &Value) -> String {
    body.to_string().chars().take(200).collect()
}

/// RFC 4648, section 4.
fn from_base64(text: &str) -> Vec<u8> {
    const ALPHABET: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let (mut bits, mut held, mut out) = (0_u32, 0, Vec::new());
    for figure in text.bytes().map_while(|c| ALPHABET.iter().position(|&a| a == c)) {
        bits = (bits << 6) | u32::try_from(figure).expect("below 64");
        held += 6;
        if held >= 8 {
            held -= 8;
            out.push((bits >> held).to_le_bytes()[0]);
        }
    }
    out
}
