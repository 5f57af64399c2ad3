//! A real browser without a window, driven by the DevTools protocol over a web socket.
//!
//! # Source
//! Chrome DevTools Protocol, domains Target, Runtime, Input, Emulation and Network; The WebSocket Protocol, RFC 6455.

use std::io::{BufRead as _, BufReader};
use std::net::TcpStream;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use serde_json::{Value, json};
use tungstenite::{Message, WebSocket};

/// Nobody waits longer for what should come: then the test is stuck.
const PATIENCE: Duration = Duration::from_secs(60);

/// A browser with any number of tabs.
pub(crate) struct Browser {
    process: Child,
    socket: WebSocket<TcpStream>,
    last: u64,
    /// What the browser told of its own accord.
    pub(crate) events: Vec<Value>,
    _profile: tempfile::TempDir,
}

/// A tab, by the session that talks to it.
#[derive(Clone, Debug)]
pub(crate) struct Tab(String);

impl Browser {
    /// Starts it.
    pub(crate) fn start(chromium: &Path) -> Self {
        let profile = tempfile::tempdir().expect("a folder can be made");
        let mut process = Command::new(chromium)
            .args(["--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run"])
            .args(["--disable-background-networking", "--disable-component-update", "--disable-sync"])
            // Tabs in the back are drawn as often as the one in front.
            .args(["--disable-background-timer-throttling", "--disable-renderer-backgrounding"])
            .args(["--disable-backgrounding-occluded-windows", "--remote-debugging-port=0", "about:blank"])
            .arg(format!("--user-data-dir={}", profile.path().display()))
            .stdout(Stdio::null())
            .stderr(Stdio::piped())
            .spawn()
            .expect("the browser starts");
        let mut lines = BufReader::new(process.stderr.take().expect("it was piped")).lines();
        let address = loop {
            let line = lines.next().expect("the browser tells where it listens").expect("it tells text");
            if let Some(address) = line.strip_prefix("DevTools listening on ") {
                break address.to_owned();
            }
        };
        // What it grumbles is read, so that it never waits for a reader.
        std::thread::spawn(move || lines.for_each(drop));
        let host = address.trim_start_matches("ws://").split('/').next().expect("host and port").to_owned();
        let stream = TcpStream::connect(host).expect("the browser listens");
        stream.set_read_timeout(Some(PATIENCE)).expect("a socket takes a time limit");
        let (socket, _) = tungstenite::client(&address, stream).expect("the browser talks");
        Self { process, socket, last: 0, events: Vec::new(), _profile: profile }
    }

    fn send(&mut self, session: Option<&str>, method: &str, params: Value) -> u64 {
        self.last += 1;
        let mut message = json!({ "id": self.last, "method": method, "params": params });
        if let Some(session) = session {
            message["sessionId"] = json!(session);
        }
        self.socket.send(Message::text(message.to_string())).expect("the browser listens");
        self.last
    }

    /// The next message that the browser sends.
    fn next(&mut self) -> Value {
        loop {
            if let Message::Text(text) = self.socket.read().expect("the browser answers") {
                return serde_json::from_str(&text).expect("the browser talks JSON");
            }
        }
    }

    fn call(&mut self, session: Option<&str>, method: &str, params: Value) -> Value {
        let id = self.send(session, method, params);
        loop {
            let message = self.next();
            if message["id"] == json!(id) {
                assert!(message["error"].is_null(), "{method}: {message}");
                return message["result"].clone();
            }
            if message["method"].is_string() {
                self.events.push(message);
            }
        }
    }

    /// Opens a page in a tab of its own.
    pub(crate) fn open(&mut self, address: &str) -> Tab {
        let target = self.call(None, "Target.createTarget", json!({ "url": "about:blank" }))["targetId"].clone();
        let attached = self.call(None, "Target.attachToTarget", json!({ "targetId": target, "flatten": true }));
        let tab = Tab(attached["sessionId"].as_str().expect("a session").to_owned());
        for domain in ["Runtime.enable", "Log.enable", "Network.enable", "Page.enable"] {
            self.ask(&tab, domain, json!({}));
        }
        let navigated = self.ask(&tab, "Page.navigate", json!({ "url": address }));
        assert!(navigated["errorText"].is_null(), "{address}: {navigated}");
        let is_loaded = |event: &Value| event["method"] == "Page.loadEventFired" && event["sessionId"] == tab.0;
        while !self.events.iter().any(is_loaded) {
            let message = self.next();
            self.events.push(message);
        }
        tab
    }

    /// Calls a method of the protocol in a tab.
    pub(crate) fn ask(&mut self, tab: &Tab, method: &str, params: Value) -> Value {
        self.call(Some(&tab.0), method, params)
    }

    /// The value of a script in a tab.
    pub(crate) fn value(&mut self, tab: &Tab, script: &str) -> Value {
        let params = json!({ "expression": script, "returnByValue": true, "awaitPromise": true });
        let answer = self.ask(tab, "Runtime.evaluate", params);
        assert!(answer["exceptionDetails"].is_null(), "{script}: {answer}");
        answer["result"]["value"].clone()
    }

    /// A text in a tab.
    pub(crate) fn text(&mut self, tab: &Tab, script: &str) -> String {
        self.value(tab, script).as_str().unwrap_or_default().to_owned()
    }

    /// Waits until something is so in a tab.
    pub(crate) fn until(&mut self, tab: &Tab, script: &str) {
        let start = Instant::now();
        while self.value(tab, &format!("Boolean({script})")) != json!(true) {
            if start.elapsed() > PATIENCE {
                panic!("never so: {script}\n{}", self.text(tab, "document.body.innerText"));
            }
            std::thread::sleep(Duration::from_millis(15));
        }
    }

    /// Waits until a tab calls the function `name`, and gives what it was called with.
    #[allow(dead_code, reason = "only what measures asks for it")]
    pub(crate) fn called(&mut self, name: &str) -> String {
        let is_call = |event: &Value| event["method"] == "Runtime.bindingCalled" && event["params"]["name"] == name;
        loop {
            if let Some(at) = self.events.iter().position(is_call) {
                return self.events.remove(at)["params"]["payload"].as_str().unwrap_or_default().to_owned();
            }
            let message = self.next();
            if message["method"].is_string() {
                self.events.push(message);
            }
        }
    }

    /// Presses a key in a tab.
    #[allow(dead_code, reason = "what measures presses none")]
    pub(crate) fn press(&mut self, tab: &Tab, key: &str) {
        for kind in ["keyDown", "keyUp"] {
            self.ask(tab, "Input.dispatchKeyEvent", json!({ "type": kind, "key": key, "code": key }));
        }
    }

    /// Drags the mouse in a tab.
    #[allow(dead_code, reason = "what measures drags nothing")]
    pub(crate) fn drag(&mut self, tab: &Tab, from: (f64, f64), to: (f64, f64)) {
        let mouse = |kind: &str, (x, y): (f64, f64), buttons: u32| json!({ "type": kind, "x": x, "y": y, "button": "left", "buttons": buttons, "clickCount": 1 });
        for params in [mouse("mousePressed", from, 1), mouse("mouseMoved", to, 1), mouse("mouseReleased", to, 0)] {
            self.ask(tab, "Input.dispatchMouseEvent", params);
        }
    }

    /// Faults of scripts and of the policy that the pages told so far.
    #[allow(dead_code, reason = "what measures looks at none")]
    pub(crate) fn faults(&self) -> Vec<&Value> {
        let is_fault = |event: &&Value| {
            event["method"] == "Runtime.exceptionThrown"
                || event["method"] == "Log.entryAdded" && event["params"]["entry"]["level"] == "error"
        };
        self.events.iter().filter(is_fault).collect()
    }
}

impl Drop for Browser {
    fn drop(&mut self) {
        self.send(None, "Browser.close", json!({}));
        let start = Instant::now();
        while matches!(self.process.try_wait(), Ok(None)) {
            if start.elapsed() > Duration::from_secs(10) {
                // Only what this test started.
                let _ = self.process.kill();
                break;
            }
            std::thread::sleep(Duration::from_millis(20));
        }
        let _ = self.process.wait();
    }
}
