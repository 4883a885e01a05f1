//! The same over a real SSH server on this machine. Without one it is passed over, unless `STUDBAY_SSHD` is set.

use super::hand::Hand;
use super::{folder_with, house, text};
use crate::keep::kill::eprintln;
use crate::pty::{PATIENCE, program};
use portable_pty::CommandBuilder;
use std::fs;
use std::net::{TcpListener, TcpStream};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};
use tempfile::TempDir;

const SERVER: &str = "/usr/sbin/sshd";

/// A server of our own, with keys and a port of its own.
struct Server {
    folder: TempDir,
    port: u16,
    child: Child,
}

impl Server {
    /// None, and a notice, where there is no such server.
    fn start() -> Option<Self> {
        let wanted = std::env::var_os("STUDBAY_SSHD").is_some();
        if !Path::new(SERVER).exists() {
            assert!(!wanted, "STUDBAY_SSHD is set and there is no {SERVER}");
            eprintln(&format!("SKIPPED: there is no {SERVER}, so nothing is tried over SSH"));
            return None;
        }
        let folder = tempfile::tempdir().unwrap();
        for name in ["host", "person"] {
            let made = Command::new("ssh-keygen")
                .args(["-q", "-t", "ed25519", "-N", "", "-f"])
                .arg(folder.path().join(name))
                .status()
                .unwrap();
            assert!(made.success());
        }
        let port = TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap().port();
        let at = folder.path().display();
        let config = format!(
            "Port {port}\nListenAddress 127.0.0.1\nHostKey {at}/host\nAuthorizedKeysFile {at}/person.pub\n\
             PidFile none\nStrictModes no\nUsePAM no\nPasswordAuthentication no\nPermitRootLogin yes\n\
             KbdInteractiveAuthentication no\n"
        );
        fs::write(folder.path().join("config"), config).unwrap();
        // The server wants this folder where it runs as root; its package makes it only with the service.
        let _ = fs::create_dir("/run/sshd");
        let log = fs::File::create(folder.path().join("log")).unwrap();
        let child = Command::new(SERVER)
            .args(["-D", "-e", "-f"])
            .arg(folder.path().join("config"))
            .stdin(Stdio::null())
            .stdout(Stdio::null())
            .stderr(log)
            .spawn()
            .unwrap();
        let mut server = Self { folder, port, child };
        let end = Instant::now() + PATIENCE;
        while TcpStream::connect(("127.0.0.1", port)).is_err() {
            let over = Instant::now() > end || server.child.try_wait().unwrap().is_some();
            assert!(!over, "the server does not start: {}", server.log());
            std::thread::sleep(Duration::from_millis(20));
        }
        Some(server)
    }

    fn log(&self) -> String {
        fs::read_to_string(self.folder.path().join("log")).unwrap_or_default()
    }

    /// The program on a job at the other end of the line.
    fn hand(&self, job: &Path) -> Hand {
        let user = Command::new("id").arg("-un").output().unwrap();
        let user = String::from_utf8(user.stdout).unwrap();
        let mut command = CommandBuilder::new("ssh");
        command.args([
            "-tt",
            "-F",
            "none",
            "-o",
            "StrictHostKeyChecking=no",
            "-o",
            "UserKnownHostsFile=/dev/null",
        ]);
        command.args(["-o", "LogLevel=ERROR", "-o", "BatchMode=yes", "-i"]);
        command.arg(self.folder.path().join("person"));
        command.args(["-p", &self.port.to_string(), &format!("{}@127.0.0.1", user.trim())]);
        command.arg(format!("LANG=C.UTF-8 exec '{}' '{}'", program(), job.display()));
        command.env("TERM", "xterm-256color");
        Hand::at(command)
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

#[test]
fn a_room_is_added_over_ssh() {
    let Some(server) = Server::start() else { return };
    let tasks = house::rooms();
    let (_folder, path) = folder_with(house::EMPTY);
    let mut hand = server.hand(&path);
    assert_eq!(hand.see("[1 Runs]"), Ok(()), "{}\n{}", hand.opened.text(), server.log());
    for task in &tasks[..2] {
        hand.work(task).unwrap();
    }
    assert_eq!(hand.save_and_leave(), 0);
    assert_eq!(fs::read_to_string(&path).unwrap(), text(&house::after(&tasks[..2])));

    // The line breaks: the program at its far end goes, and the next start offers what was seen.
    let mut hand = server.hand(&path);
    hand.see("[1 Runs]").unwrap();
    hand.answer("+j", "> ").unwrap();
    hand.work(&tasks[2]).unwrap();
    hand.opened.child.kill().unwrap();
    let lock = path.with_file_name("house.ron.lock");
    let end = Instant::now() + PATIENCE;
    while lock.exists() {
        assert!(Instant::now() < end, "the program lives on without its line");
        std::thread::sleep(Duration::from_millis(10));
    }
    let mut again = server.hand(&path);
    again.see("r:restore it").unwrap();
    again.answer("r", "restored 1 change").unwrap();
    assert_eq!(again.save_and_leave(), 0);
    assert_eq!(fs::read_to_string(&path).unwrap(), text(&house::after(&tasks[..3])));
}
