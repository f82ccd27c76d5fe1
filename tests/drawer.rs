//! A drawer of loose photographs: which of them show one garment, told by the sheets and what is covered of them.

mod support;

use onfold::capture::{Looked, Request};
use onfold::curve::Tolerance;
use onfold::geometry::{Point, Vec2};
use onfold::outline::{EdgeKind, Wish};
use support::camera::Camera;
use support::scene::{Cloth, Scene, Sheet, Surface, loose_sheets};

const LINEN: Surface = Surface::Woven { tone: [0.46, 0.40, 0.30], uneven: 0.12, patch_mm: 7.0 };

/// An apron's shape, so much longer than another.
fn apron(longer_mm: f64) -> Cloth {
    let ring = [
        (-90.0, -260.0),
        (90.0, -260.0),
        (120.0, -120.0),
        (200.0, -80.0),
        (205.0, 220.0 + longer_mm),
        (-205.0, 220.0 + longer_mm),
        (-200.0, -80.0),
        (-120.0, -120.0),
    ];
    Cloth::flat(ring.map(Point::from).to_vec(), LINEN)
}

fn looked(sheets: Vec<Sheet>, cloth: Cloth, over: (f64, f64), turn_deg: f64) -> Looked {
    let camera = Camera::over((1500, 2000), 1512.0, Point::from(over), 950.0, (14.0, turn_deg));
    let mut scene = Scene::new(camera, sheets);
    scene.cloths.push(cloth);
    scene.light.slope_per_m = Vec2::new(0.2, -0.15);
    scene.noise = 1.5;
    Looked::at(&scene.render().jpeg(90, 1)).expect("a picture")
}

fn request() -> Request {
    Request {
        measured_mm: None,
        wish: Wish { thickness_mm: 1.0, edge: EdgeKind::Folded, trim_narrower_mm: None },
        tolerance: Tolerance::default(),
    }
}

#[test]
fn loose_photographs_of_one_garment_are_known_by_what_they_cover() {
    let request = request();
    let sheets = || loose_sheets(3, 3, (1.0, 2.0, 0.8), 5);
    let first = looked(sheets(), apron(0.0), (0.0, -60.0), 2.0);
    let second = looked(sheets(), apron(0.0), (20.0, 90.0), -5.0);
    let common = second.one_garment_with(&first, &request).expect("one garment, two places");
    assert!(common >= 6, "{common}");
    let same_place = looked(sheets(), apron(0.0), (0.0, -60.0), 2.0);
    let other_size = looked(sheets(), apron(45.0), (20.0, 90.0), -5.0);
    for (what, other) in [("taken from one stand", same_place), ("another size", other_size)] {
        assert_eq!(other.one_garment_with(&first, &request), None, "{what}");
    }
}

/// Laid again as well as by eye, to 2 mm and 0.8 degrees.
#[test]
fn sheets_that_were_laid_again_are_others() {
    let laid = |seed| loose_sheets(3, 3, (1.0, 2.0, 0.8), seed);
    let first = looked(laid(5), apron(0.0), (0.0, -60.0), 2.0);
    let again = looked(laid(6), apron(0.0), (20.0, 90.0), -5.0);
    assert_eq!(again.one_garment_with(&first, &request()), None);
}
