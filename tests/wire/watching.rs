//! What is watched for changes outside the editor, by the client or here.

use serde_json::json;

use crate::support::{Client, Setup};
use crate::surroundings::{
    DRUGS, QUIET, codes, high, pushed, right, sees_a_lower_limit, ward, write,
};

#[test]
fn every_repository_that_is_read_is_watched() {
    let files = [
        ("gutta.toml", ""),
        ("drugs.gtt", DRUGS),
        ("icu/ward.gtt", &ward("0.05 mcg/kg/min", "../drugs.gtt")),
    ];
    let folders: [&[&str]; 2] = [&["icu"], &[]];
    for folders in folders {
        for watches in [false, true] {
            let mut setup = Setup::new(files).with_folders(folders);
            setup.watches = watches;
            let mut client = setup.start();
            client.open("icu/ward.gtt");
            client.findings("icu/ward.gtt");
            // One that can watch, but only in its own folders, is no help.
            sees_a_lower_limit(&mut client, "icu/ward.gtt");
        }
    }
}

#[test]
fn what_comes_to_mark_a_folder_above_is_seen() {
    let used = ward("0.05 mcg/kg/min", "../drugs.gtt");
    let files = [("drugs.gtt", DRUGS), ("icu/ward.gtt", used.as_str())];
    for folders in [&["icu"] as &[_], &[]] {
        for watches in [false, true] {
            let mut setup = Setup::new(files).with_folders(folders);
            setup.watches = watches;
            let mut client = setup.start();
            client.open("icu/ward.gtt");
            let found = json!(client.findings("icu/ward.gtt"));
            assert!(codes(&found).contains(&"name.use-outside"), "{found}");
            client.listen(QUIET);
            write(&client, "gutta.toml", "");
            let ward = client.url("icu/ward.gtt");
            client.wait_until("it is another repository's", |client| {
                !pushed(client, &ward).contains(&"name.use-outside")
            });
        }
    }
}

#[test]
fn what_is_no_longer_read_is_no_longer_watched() {
    let files = [("gutta.toml", ""), ("icu/ward.gtt", &high())];
    let mut client = Setup::new(files)
        .with_folders(&["icu"])
        .with("/workspace/didChangeWatchedFiles", "relativePatternSupport")
        .start();
    let base = json!(client.url("").trim_end_matches('/'));
    let asked = |client: &Client| {
        let registrations = client.heard.iter();
        let mut registrations = registrations
            .filter_map(|heard| heard["params"]["registrations"].as_array())
            .flatten();
        let found = registrations.find(|asked| {
            asked["registerOptions"]["watchers"][0]["globPattern"]["baseUri"] == base
        });
        found.map(|asked| asked["id"].clone())
    };
    client.wait_until("it is asked to", |client| asked(client).is_some());
    let id = asked(&client);
    let icu = json!({ "uri": client.url("icu"), "name": "icu" });
    client.notify(
        "workspace/didChangeWorkspaceFolders",
        json!({ "event": { "added": [], "removed": [icu] } }),
    );
    client.wait_until("it is withdrawn", |client| {
        let mut gone = client
            .heard
            .iter()
            .filter_map(|heard| heard["params"]["unregisterations"].as_array())
            .flatten();
        gone.any(|gone| Some(&gone["id"]) == id.as_ref())
    });
}

#[test]
fn a_client_that_can_watches_other_folders_too() {
    let files = [("gutta.toml", ""), ("icu/ward.gtt", &high())];
    let mut client = Setup::new(files)
        .with_folders(&["icu"])
        .with("/workspace/didChangeWatchedFiles", "relativePatternSupport")
        .start();
    let base = json!(client.url("").trim_end_matches('/'));
    client.wait_until("it is asked to", |client| {
        let watchers = client
            .heard
            .iter()
            .filter_map(|heard| heard["params"]["registrations"].as_array())
            .flatten()
            .filter_map(|asked| asked["registerOptions"]["watchers"].as_array())
            .flatten();
        let globs: Vec<_> = watchers.map(|watcher| &watcher["globPattern"]).collect();
        globs
            .iter()
            .any(|glob| glob["baseUri"] == base && glob["pattern"] == "**/*.gtt")
    });
}

#[test]
fn a_file_alone_is_watched_with_what_it_uses() {
    let files = [("drugs.gtt", DRUGS), ("ward.gtt", &right())];
    let mut client = Setup::new(files).with_folders(&[]).start();
    client.open("ward.gtt");
    client.findings("ward.gtt");
    sees_a_lower_limit(&mut client, "ward.gtt");
}
