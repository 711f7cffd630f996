//! `readback key` and `readback sign`, checked by another program too.

use std::fs;
use std::process::Command;

use readback::clock::WallTime;
use readback::record::{Record, Resumed};

use crate::support::Folder;
use crate::verify::{EVENTS, session};

fn signed() -> Folder {
    let folder = session(EVENTS);
    folder.run(["key", "a.pem"]).exits(0).stderr("");
    folder
        .run(["sign", "s", "--key", "a.pem"])
        .exits(0)
        .stderr("");
    folder
}

#[test]
fn a_signed_record_is_told_and_its_key_asked_for() {
    let folder = signed();
    let run = folder.run(["verify", "s", "--key", "a.pub.pem"]).exits(0);
    let told = run.read_stdout();
    assert!(told.contains("signed up to line 5 by the key "), "{told}");
    folder.run(["key", "b.pem"]).exits(0);
    let run = folder.run(["verify", "s", "--key", "b.pub.pem"]).exits(1);
    let told = run.read_stdout();
    assert!(
        told.contains("`signed` has no right signature by the key "),
        "{told}"
    );
    folder.run(["pack", "s"]).exits(0);
    folder
        .run(["verify", "s.zip", "--key", "a.pub.pem"])
        .exits(0);
}

#[test]
fn an_end_cut_off_and_closed_again_does_not_pass_for_the_signed_one() {
    let folder = signed();
    let path = folder.path().join("s/session.jsonl");
    let lines: Vec<&str> = EVENTS.split_inclusive('\n').collect();
    fs::write(&path, lines[..3].concat()).expect("a shorter record");
    // Taking clips off would close it again.
    let clear = ["clear", "s", "--before", "2100-01-01"];
    let told = folder.run(clear).exits(1).stdout("").to_string();
    assert!(
        told.contains("does not verify and was left as it is"),
        "{told}"
    );
    // Who knows the layout can do it.
    let wall = WallTime::parse("2026-03-05T08:00:00.000+01:00").expect("a time");
    let resumed = Record::<serde_json::Value>::resume(&folder.path().join("s"), wall);
    let Resumed {
        mut record, now, ..
    } = resumed.expect("a record");
    record
        .append(&now, vec![serde_json::json!({"later": 1})], None)
        .expect("a disk");
    record.close(&now).expect("a disk");
    drop(record);
    let run = folder.run(["verify", "s"]).exits(1);
    let told = run.read_stdout();
    assert!(
        told.contains("`signed/1.txt` was signed over another line 5: the record was written anew"),
        "{told}"
    );
}

#[test]
fn the_same_end_is_signed_once_by_a_key() {
    let folder = signed();
    let told = folder.run(["verify", "s"]).exits(0).read_stdout();
    folder.run(["sign", "s", "--key", "a.pem"]).exits(0);
    folder.run(["verify", "s"]).exits(0).stdout(&told);
    folder.run(["key", "b.pem"]).exits(0);
    folder.run(["sign", "s", "--key", "b.pem"]).exits(0);
    let both = folder.run(["verify", "s"]).exits(0).read_stdout();
    assert_eq!(both.matches("signed up to line 5").count(), 2, "{both}");
}

#[test]
fn a_signature_that_was_changed_is_named() {
    let folder = signed();
    let path = folder.path().join("s/signed/1.sig");
    let mut bytes = fs::read(&path).expect("a signature");
    assert_eq!(bytes.len(), 64);
    bytes[5] ^= 1;
    fs::write(&path, bytes).expect("another signature");
    let run = folder.run(["verify", "s"]).exits(1);
    let told = run.read_stdout();
    assert!(
        told.contains("`signed/1.txt` is not what was signed"),
        "{told}"
    );
}

#[cfg(unix)]
#[test]
fn a_key_is_for_its_owner_only() {
    use std::os::unix::fs::PermissionsExt;
    let folder = signed();
    let path = folder.path().join("a.pem");
    let mode = fs::metadata(&path).expect("a key").permissions().mode();
    assert_eq!(mode & 0o777, 0o600);
    folder.run(["key", "a.pem"]).exits(2);
    // Where the public key cannot be written, no private one is left without it.
    fs::write(folder.path().join("b.pub.pem"), "another's").expect("a file");
    folder.run(["key", "b.pem"]).exits(2);
    assert!(!folder.path().join("b.pem").exists());
    fs::set_permissions(&path, fs::Permissions::from_mode(0o644)).expect("other permissions");
    let run = folder
        .run(["sign", "s", "--key", "a.pem"])
        .exits(2)
        .stdout("");
    assert!(
        run.to_string().contains("may be used by others (mode 644)"),
        "{run}"
    );
}

#[test]
fn a_record_that_does_not_verify_is_not_signed() {
    let folder = session(&EVENTS.replace("two four five", "two five four"));
    folder.run(["key", "a.pem"]).exits(0);
    folder
        .run(["sign", "s", "--key", "a.pem"])
        .exits(1)
        .stdout("");
    assert!(!folder.path().join("s/signed").exists());
}

/// RFC 8032 by an implementation that is not ours.
#[test]
fn openssl_finds_the_signature_right() {
    let folder = signed();
    let check = |text: &str| {
        let mut openssl = Command::new("openssl");
        openssl.args(["pkeyutl", "-verify", "-pubin", "-inkey", "s/signed/1.pem"]);
        openssl.args(["-rawin", "-in", text, "-sigfile", "s/signed/1.sig"]);
        openssl.current_dir(folder.path()).output()
    };
    let Ok(right) = check("s/signed/1.txt") else {
        eprintln!("openssl is not here: its check was left out");
        return;
    };
    assert!(right.status.success(), "{right:?}");
    let wrong = check("s/session.jsonl").expect("openssl");
    assert!(!wrong.status.success(), "{wrong:?}");
}

#[test]
fn the_wrong_key_or_a_pack_in_place_of_a_session_is_told_with_what_to_do() {
    let folder = signed();
    folder.run(["pack", "s"]).exits(0);
    let told = [
        (
            vec!["sign", "s", "--key", "a.pub.pem"],
            "`a.pub.pem` is the public key, expected the private one",
        ),
        (
            vec!["verify", "s", "--key", "a.pem"],
            "`a.pem` is the private key, expected the public one",
        ),
        (
            vec!["key", "a.pem"],
            "cannot make `a.pem`: it is there already; choose another name, or move it away",
        ),
        (
            vec!["pack", "s"],
            "cannot make `s.zip`: it is there already; choose another name, or move it away",
        ),
        (
            vec!["amend", "s.zip", "--by", "M. Lind", "--remark", "x"],
            "`s.zip` is a file, expected the folder of a session; unpack a pack, and name the \
             folder",
        ),
    ];
    for (arguments, expected) in told {
        let run = folder.run(arguments).exits(2);
        run.stderr(&format!("error: {expected}\n"));
    }
}
