//! The other subcommands.

use crate::support::Folder;

#[test]
fn a_new_workspace_is_clean() {
    let folder = Folder::new(&[]);
    insta::assert_snapshot!(folder.run(&["init"]).told());
    let ran = folder.run(&["check", "--fail-on", "warning"]);
    assert_eq!(ran.code, Some(0), "{}", ran.out);
    assert_eq!(folder.run(&["fmt", "--check"]).code, Some(0));
    let ran = folder.run(&["derive"]);
    assert_eq!(ran.code, Some(0), "{}", ran.out);
    assert!(ran.out.contains("pump flow"), "{}", ran.out);
}

#[test]
fn a_workspace_is_never_overwritten() {
    let folder = Folder::new(&[("orders/noradrenaline.gtt", "# mine\n")]);
    let ran = folder.run(&["init"]);
    ran.refused("./orders/noradrenaline.gtt is there already; nothing was written");
    assert!(!folder.path("gutta.toml").exists());
    assert_eq!(folder.read("orders/noradrenaline.gtt"), b"# mine\n");
    assert_eq!(folder.run(&["init", "new"]).code, Some(0));
    assert!(folder.path("new/gutta.toml").exists());
}

#[test]
fn a_page_is_set_for_the_terminal() {
    let folder = Folder::new(&[]);
    let ran = folder.run(&["explain", "text.no-space"]);
    assert_eq!(ran.code, Some(0));
    insta::assert_snapshot!(ran.out);
    assert!(ran.out.lines().all(|line| line.chars().count() <= 80));
}

#[test]
fn an_unknown_rule_is_answered_with_the_nearest() {
    let folder = Folder::new(&[]);
    let ran = folder.run(&["explain", "limit.unusal"]);
    ran.refused("there is no rule `limit.unusal`; did you mean limit.unusual?");
    let ran = folder.run(&["explain", "whatever"]);
    ran.refused("there is no rule `whatever`; `gutta rules` lists them");
}

#[test]
fn every_rule_is_listed_and_explained() {
    let folder = Folder::new(&[]);
    let rules = folder.run(&["rules", "--format", "json"]).json();
    let text = folder.run(&["rules"]).out;
    let rules = rules.as_array().unwrap();
    assert!(rules.len() > 30, "{}", rules.len());
    for rule in rules {
        let name = rule["rule"].as_str().unwrap();
        let family = name.split('.').next().unwrap();
        assert_eq!(rule["family"], family);
        assert!(rule["locked"].is_boolean() && rule["severity"].is_string());
        assert!(!rule["summary"].as_str().unwrap().is_empty(), "{name}");
        assert!(text.contains(&format!("{name}  ")), "{name}");
        assert_eq!(folder.run(&["explain", name]).code, Some(0), "{name}");
    }
    assert!(
        text.lines().all(|line| line.chars().count() <= 80),
        "{text}"
    );
}

#[test]
fn completions_and_the_manual_page_name_every_command() {
    let folder = Folder::new(&[]);
    let commands = [
        "check", "derive", "compare", "sheet", "fmt", "explain", "rules", "init", "serve",
    ];
    for shell in ["bash", "elvish", "fish", "powershell", "zsh"] {
        let script = folder.run(&["completions", shell]).out;
        for command in commands {
            assert!(script.contains(command), "{shell}: {command}");
        }
    }
    let page = folder.run(&["man"]).out;
    for command in commands {
        assert!(page.contains(command), "{command}");
    }
    assert!(folder.run(&["man", "derive"]).out.contains("weight"));
    let check = folder.run(&["man", "check"]).out;
    let zsh = folder.run(&["completions", "zsh"]).out;
    for word in [
        "changed-since",
        "watch",
        "sarif",
        "junit",
        "github",
        "gitlab",
    ] {
        assert!(check.contains(&word.replace('-', "\\-")), "{word}");
        assert!(zsh.contains(word), "{word}");
    }
    folder
        .run(&["man", "nothing"])
        .refused("there is no command `nothing`");
}

#[test]
fn help_fits_and_names_every_command() {
    let folder = Folder::new(&[]);
    insta::assert_snapshot!(folder.run(&["--help"]).told());
    assert_eq!(
        folder.run(&["--version"]).out,
        format!("gutta {}\n", env!("CARGO_PKG_VERSION"))
    );
    assert_eq!(folder.run(&[]).code, Some(2));
}
