//! The files themselves: PDF's own settings, SVG, JSON, what is refused.

use crate::{FOLD_MM, HALF_WIDTH_MM, half, piece, read};
use onfold::export::{self, json, pdf, picture, svg, tiles};
use onfold::geometry::Point;
use onfold::sheet::Paper;

#[test]
fn the_file_asks_for_no_scaling_and_keeps_layers_apart() {
    let file = read(&tiles::pages(&[piece()], Paper::A4).unwrap());
    assert_eq!(file.get("print_scaling"), "/None");
    assert_eq!(file.get("has_default"), true);
    assert_eq!(file.layers(), ["Page marks", "Finished lines", "Fold lines", "Marks", "Words"]);
}

#[test]
fn svg_is_in_millimetres_and_parses() {
    let shape = export::Shape::of_rings("body", &export::open_out(&half(), &[]).unwrap()).unwrap();
    let drawing = picture::of_shape(&shape);
    let text = svg::write("body", &drawing);
    // Python's own XML parser: a second opinion on well-formedness, sizes and the path's numbers.
    let script = "import sys, re, json, xml.etree.ElementTree as E\n\
        r = E.fromstring(sys.stdin.buffer.read())\n\
        p = [e for e in r.iter() if e.get('id') == 'body'][0]\n\
        g = [e.get('id') for e in r if e.tag.endswith('}g')]\n\
        n = [float(v) for v in re.findall(r'-?[0-9.]+', p.get('d'))]\n\
        print(json.dumps([r.get('width'), r.get('height'), r.get('viewBox'), g, n]))";
    let mut child = std::process::Command::new("python3")
        .args(["-c", script])
        .stdin(std::process::Stdio::piped())
        .stdout(std::process::Stdio::piped())
        .spawn()
        .expect("Python 3 is part of what the tests need");
    std::io::Write::write_all(&mut child.stdin.take().unwrap(), text.as_bytes()).unwrap();
    let output = child.wait_with_output().unwrap();
    let found: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    let (width, height) = (2.0 * HALF_WIDTH_MM + 30.0, FOLD_MM + 30.0);
    assert_eq!(found[0], format!("{width}mm"));
    assert_eq!(found[1], format!("{height}mm"));
    assert_eq!(found[2], format!("0 0 {width} {height}"));
    assert_eq!(found[3], serde_json::json!(["finished"]));
    let x: Vec<f64> = found[4].as_array().unwrap().iter().step_by(2).map(|v| v.as_f64().unwrap()).collect();
    let (least, most) = x.iter().fold((f64::MAX, f64::MIN), |(a, b), v| (a.min(*v), b.max(*v)));
    assert!((most - least - 2.0 * HALF_WIDTH_MM).abs() < 1e-3);
}

#[test]
fn json_keeps_to_the_contract() {
    let rings = vec![half()];
    let text = json::write("drafted", &[json::Outline { name: "body", rings, cut: None }]);
    let value: serde_json::Value = serde_json::from_str(&text).unwrap();
    assert_eq!(value["unit"], "mm");
    assert_eq!(value["stage"], "drafted");
    assert_eq!(value["pieces"][0]["name"], "body");
    assert_eq!(value["pieces"][0]["rings"], value["rings"]);
    let ring: Vec<Point> = value["rings"][0]
        .as_array()
        .unwrap()
        .iter()
        .map(|p| Point::new(p[0].as_f64().unwrap(), p[1].as_f64().unwrap()))
        .collect();
    // The shoelace sum of the chords against the exact area of the lines and cubics.
    let area: f64 =
        (0..ring.len()).map(|i| ring[i].to_vec2().cross(ring[(i + 1) % ring.len()].to_vec2()) / 2.0).sum();
    assert!((area - half().area_mm2()).abs() < 0.01 * half().length_mm(), "chords within 0.01 mm");
}

#[test]
fn the_same_piece_gives_the_same_bytes() {
    let about = pdf::About { title: "a", subject: "b" };
    let [a, b] = [0, 1].map(|_| pdf::write(&about, &tiles::pages(&[piece()], Paper::A4).unwrap()).unwrap());
    assert_eq!(a, b);
}

#[test]
fn wrong_arguments_are_told_what_is_right() {
    for (arguments, told) in [
        (vec!["print", "x", "--paper", "a4", "--roll-width", "914mm", "--out", "-"], "--paper roll"),
        (vec!["print", "x", "--paper", "roll", "--roll-width", "-3", "--out", "-"], "above zero"),
        (vec!["print", "x", "--paper", "roll", "--roll-width", "36", "--out", "-"], "36in"),
        (vec!["export", "x", "--stage", "drafted", "--format", "dwg", "--out", "-"], "json, svg, dxf, hpgl"),
        (vec!["export", "x", "--stage", "cut", "--format", "svg", "--out", "-"], "traced, folded, drafted"),
    ] {
        let output = assert_cmd::Command::cargo_bin("onfold").unwrap().args(&arguments).output().unwrap();
        assert!(!output.status.success() && output.stdout.is_empty());
        let stderr = String::from_utf8(output.stderr).unwrap();
        assert!(stderr.contains(told), "{arguments:?}: {stderr}");
    }
}
