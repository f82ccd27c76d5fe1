//! The renderer of test scenes itself, against closed forms: what is rendered must be where it is said to be.

mod support;

use onfold::geometry::{Point, Vec2};
use support::camera::Camera;
use support::random::Random;
use support::saddle::Grey;
use support::scene::{Cloth, Edge, Scene, Surface, loose_sheets};

fn camera() -> Camera {
    Camera::over((900, 1200), 900.0, Point::new(5.0, -12.0), 800.0, (18.0, 12.0))
        .with_lens([0.06, -0.12, 0.0007, -0.0005, 0.04], (3.2, -4.4))
}

#[test]
fn a_place_goes_to_the_picture_and_back() {
    let camera = camera();
    let mut random = Random::new(7);
    for _ in 0..500 {
        let at = Point::new(random.between(-300.0, 300.0), random.between(-400.0, 400.0));
        let height = random.between(0.0, 5.0);
        let pixel = camera.project(at, height).unwrap();
        let back = camera.table_at(pixel, height).unwrap();
        assert!(at.distance(back) < 1e-8, "{at:?} came back as {back:?}");
    }
}

#[test]
fn the_tilt_is_the_one_asked_for() {
    let camera = camera();
    let axis = camera.rotation.transpose() * nalgebra::Vector3::z();
    assert!((axis.z.acos().to_degrees() - 18.0).abs() < 1e-9);
    let middle = camera.table_at(Point::new(camera.centre[0], camera.centre[1]), 0.0).unwrap();
    assert!(middle.distance(Point::new(5.0, -12.0)) < 1e-9, "it looks at the target");
}

/// Light from a piece of white cloth on black, summed over the picture, is the area of its picture in pixels.
#[test]
fn the_light_of_a_piece_is_its_area() {
    let ring: Vec<Point> =
        [(-61.3, -40.2), (55.1, -47.7), (70.9, 38.4), (-35.0, 52.6)].map(Point::from).to_vec();
    let flat = Camera::over((300, 300), 500.0, Point::ORIGIN, 500.0, (10.0, 5.0));
    let mut scene = Scene::new(flat, Vec::new());
    scene.floor = Surface::Plain([0.0; 3]);
    scene.cloths.push(Cloth::flat(ring.clone(), Surface::Plain([1.0; 3])));
    scene.blur_px = 0.0;
    let picture = scene.render();
    let light: f64 = picture.rgb.chunks_exact(3).map(|p| linear(p[0])).sum();
    let corners: Vec<Vec2> = ring.iter().map(|p| scene.camera.project(*p, 0.0).unwrap().to_vec2()).collect();
    let area: f64 = (0..4).map(|i| corners[i].cross(corners[(i + 1) % 4]) / 2.0).sum();
    // Each of about 450 edge pixels is known to 1/16 of a pixel at random: 450^(1/2) / 16 / 12^(1/2) = 0.4 px².
    assert!(area > 10_000.0 && (light - area).abs() < 2.0, "light {light}, area {area} px²");
}

/// From straight above, a cut piece of thickness t shows a camera at height H its top drawn larger by H / (H - t);
/// a rounded one its widest line at the height t / 2.
#[test]
fn thickness_widens_the_silhouette_as_geometry_says() {
    let (rise, thickness_mm) = (500.0, 6.0);
    let ring: Vec<Point> = (0..720)
        .map(|k| Point::ORIGIN + 90.0 * Vec2::from_angle(f64::from(k) * std::f64::consts::TAU / 720.0))
        .collect();
    let area_of = |edge: Edge| {
        let camera = Camera::over((400, 400), 900.0, Point::ORIGIN, rise, (0.0, 0.0));
        let mut scene = Scene::new(camera, Vec::new());
        scene.floor = Surface::Plain([0.0; 3]);
        scene.blur_px = 0.0;
        let surface = Surface::Plain([1.0; 3]);
        scene.cloths.push(Cloth { rings: vec![ring.clone()], surface, edge });
        let light: f64 = scene.render().rgb.chunks_exact(3).map(|p| linear(p[0])).sum();
        (light / std::f64::consts::PI).sqrt() / 900.0 * rise
    };
    let flat = area_of(Edge::Flat);
    assert!((flat - 90.0).abs() < 0.02, "a flat disc of radius 90 shows {flat}");
    let cut = area_of(Edge::Cut { thickness_mm, wall: 1.0 });
    assert!((cut - 90.0 * rise / (rise - thickness_mm)).abs() < 0.02, "a cut disc shows {cut}");
    // DESIGN.md: h s + r (√(1 + s²) - 1) beyond the true outline, s = the shift of a point raised by 1 mm.
    let (r, s) = (thickness_mm / 2.0, 90.0 / rise);
    let rounded = area_of(Edge::Round { thickness_mm });
    let expected = 90.0 + r * s + r * ((1.0_f64 + s * s).sqrt() - 1.0);
    assert!((rounded - expected).abs() < 0.03, "a rounded disc shows {rounded}, not {expected}");
}

/// Corners refined in the picture agree with the truth: to 0.05 px on average, and without a common shift.
#[test]
fn checker_corners_are_where_the_truth_says() {
    let mut scene = Scene::new(camera(), loose_sheets(3, 3, (4.0, 2.0, 1.0), 11));
    scene.blur_px = 0.8;
    let started = std::time::Instant::now();
    let picture = scene.render();
    println!("rendered {} x {} in {:.2} s", picture.width, picture.height, started.elapsed().as_secs_f64());
    let grey = Grey::from_rgb(picture.width, picture.height, &picture.rgb);
    let (mut errors, mut shift, mut lost) = (Vec::new(), Vec2::ZERO, 0);
    for (index, sheet) in scene.sheets.iter().enumerate() {
        for (board, pixel) in scene.corner_pixels(sheet) {
            let Some(pixel) = pixel.filter(|_| scene.is_clear(index, board, 8.0)) else { continue };
            match grey.saddle(pixel + Vec2::new(0.4, -0.3), 2.6) {
                Some(found) => {
                    errors.push(found.distance(pixel));
                    shift += found - pixel;
                }
                None => lost += 1,
            }
        }
    }
    assert!(errors.len() > 500 && lost == 0, "{} corners found, {lost} lost", errors.len());
    #[expect(clippy::cast_precision_loss, reason = "some hundred corners")]
    let n = errors.len() as f64;
    let mean = errors.iter().sum::<f64>() / n;
    println!("{n} corners, mean error {mean:.4} px, common shift {:.4} px", (shift / n).hypot());
    assert!(mean <= 0.05, "mean error {mean:.4} px");
    assert!((shift / n).hypot() < 0.005, "common shift {:?} px", shift / n);
}

/// A picture stored for each EXIF orientation is set upright again by another library (`image` with its own reader
/// of the tag).
#[test]
fn every_orientation_is_stored_as_exif_says() {
    let mut scene = Scene::new(Camera::over((96, 64), 120.0, Point::ORIGIN, 500.0, (5.0, 3.0)), Vec::new());
    scene.floor = Surface::Stripes { a: [0.7, 0.1, 0.1], b: [0.1, 0.2, 0.8], width_mm: 70.0 };
    scene.light.slope_per_m = Vec2::new(0.8, 1.4);
    let picture = scene.render();
    for orientation in 1..=8 {
        let bytes = picture.jpeg(95, orientation);
        let mut decoder =
            image::ImageReader::with_format(std::io::Cursor::new(&bytes), image::ImageFormat::Jpeg)
                .into_decoder()
                .unwrap();
        let tag = image::ImageDecoder::orientation(&mut decoder).unwrap();
        assert_eq!(tag.to_exif(), orientation);
        let mut upright = image::DynamicImage::from_decoder(decoder).unwrap();
        upright.apply_orientation(tag);
        assert_eq!((upright.width(), upright.height()), (96, 64), "orientation {orientation}");
        let worst = upright.to_rgb8().as_raw().iter().zip(&picture.rgb).map(|(a, b)| a.abs_diff(*b)).max();
        assert!(worst.unwrap() < 40, "orientation {orientation}: off by {worst:?} levels");
    }
}

/// sRGB byte to linear light (IEC 61966-2-1).
fn linear(byte: u8) -> f64 {
    let v = f64::from(byte) / 255.0;
    if v <= 0.040_45 { v / 12.92 } else { ((v + 0.055) / 1.055).powf(2.4) }
}
