//! Colours and type of the window: paper and ink, in the light or in the dark.

use egui::style::ScrollStyle;
use egui::{Color32, CornerRadius, FontId, Stroke, Visuals};

/// Orange, sky blue, bluish green, yellow, blue, vermilion, reddish purple (Okabe and Ito, *Color universal design*, 2002).
const HUES: [[u8; 3]; 7] =
    [[230, 159, 0], [86, 180, 233], [0, 158, 115], [240, 228, 66], [0, 114, 178], [213, 94, 0], [204, 121, 167]];

/// The colours in force.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Theme {
    /// What everything lies on.
    pub paper: Color32,
    /// A sheet on the paper: words, and pictures that have a ground of their own.
    pub sheet: Color32,
    /// Text and lines.
    pub ink: Color32,
    /// Text that can wait.
    pub soft: Color32,
    /// Thin lines between things.
    pub rule: Color32,
    /// The cursor, and what is chosen.
    pub mark: Color32,
    /// Behind what is chosen.
    pub wash: Color32,
    /// Whether it is the dark one.
    pub is_dark: bool,
}

impl Theme {
    /// By daylight, or in the dark.
    pub(crate) fn new(is_dark: bool) -> Theme {
        let rgb = |[r, g, b]: [u8; 3]| Color32::from_rgb(r, g, b);
        if is_dark {
            Theme {
                paper: rgb([27, 28, 30]),
                sheet: rgb([35, 36, 39]),
                ink: rgb([232, 229, 222]),
                soft: rgb([166, 164, 158]),
                rule: rgb([76, 77, 80]),
                mark: rgb([255, 176, 92]),
                wash: rgb([62, 54, 44]),
                is_dark,
            }
        } else {
            Theme {
                paper: rgb([246, 243, 236]),
                sheet: rgb([253, 252, 249]),
                ink: rgb([34, 37, 42]),
                soft: rgb([98, 99, 102]),
                rule: rgb([205, 200, 190]),
                mark: rgb([158, 66, 8]),
                wash: rgb([243, 228, 210]),
                is_dark,
            }
        }
    }

    /// The colour of a cutter, by its place in the scene.
    pub(crate) fn cutter(&self, index: u16) -> Color32 {
        let [r, g, b] = HUES[usize::from(index) % HUES.len()];
        let color = Color32::from_rgb(r, g, b);
        // Yellow and orange on paper are hard to see in thin lines.
        if self.is_dark { color } else { color.lerp_to_gamma(Color32::from_rgb(40, 40, 40), 0.18) }
    }

    /// Has egui's own widgets look like the rest.
    pub(crate) fn apply(&self, ctx: &egui::Context, zoom: f32) {
        let mut visuals = if self.is_dark { Visuals::dark() } else { Visuals::light() };
        visuals.panel_fill = self.paper;
        visuals.window_fill = self.sheet;
        visuals.window_stroke = Stroke::new(1.0, self.rule);
        visuals.extreme_bg_color = self.sheet;
        visuals.faint_bg_color = self.wash;
        visuals.selection.bg_fill = self.wash;
        visuals.selection.stroke = Stroke::new(1.5, self.mark);
        visuals.override_text_color = Some(self.ink);
        visuals.hyperlink_color = self.mark;
        let widgets = &mut visuals.widgets;
        for (state, fill, line) in [
            (&mut widgets.noninteractive, self.paper, self.rule),
            (&mut widgets.inactive, self.paper, self.rule),
            (&mut widgets.hovered, self.wash, self.soft),
            (&mut widgets.active, self.wash, self.mark),
            (&mut widgets.open, self.wash, self.soft),
        ] {
            state.bg_fill = fill;
            state.weak_bg_fill = fill;
            state.bg_stroke = Stroke::new(1.0, line);
            state.fg_stroke = Stroke::new(1.2, self.ink);
            state.corner_radius = CornerRadius::same(2);
            state.expansion = 0.0;
        }
        // So that one sees where there is more, without pointing at it.
        let scroll = ScrollStyle {
            floating_width: 4.0,
            floating_allocated_width: 7.0,
            dormant_handle_opacity: 0.5,
            ..ScrollStyle::floating()
        };
        ctx.all_styles_mut(|style| style.spacing.scroll = scroll);
        ctx.set_theme(if self.is_dark { egui::Theme::Dark } else { egui::Theme::Light });
        ctx.set_visuals_of(ctx.theme(), visuals);
        ctx.set_zoom_factor(zoom);
    }
}

/// The window, pixels, that one and a quarter of the usual size suits where the system says nothing; more for larger ones.
const LARGE: [f32; 2] = [2625.0, 1500.0];
/// The greatest size that is chosen so.
const LARGEST: f32 = 2.0;

/// How large everything is best in a window of so many pixels, of which the system takes so many for a point. One pixel a
/// point in a very large window mostly means that nobody told the system how fine its screen is.
pub(crate) fn suited(pixels: egui::Vec2, native: f32) -> f32 {
    if native > 1.0 {
        return 1.0;
    }
    let share = (pixels.x / LARGE[0]).min(pixels.y / LARGE[1]);
    // In quarters, so that text does not breathe while the window is dragged larger.
    ((5.0 * share).floor() / 4.0).clamp(1.0, LARGEST)
}

/// A heading.
pub(crate) fn heading() -> FontId {
    FontId::proportional(16.0)
}

/// Running text.
pub(crate) fn text() -> FontId {
    FontId::proportional(13.0)
}

/// Numbers on scales.
pub(crate) fn small() -> FontId {
    FontId::proportional(11.0)
}

/// Lines of programs.
pub(crate) fn code() -> FontId {
    FontId::monospace(12.0)
}

/// A number with so many digits, a true minus, and no negative nought.
pub(crate) fn number(value: f64, digits: usize) -> String {
    let text = format!("{value:.digits$}");
    match text.strip_prefix('-') {
        Some(rest) if rest.chars().all(|c| c == '0' || c == '.') => rest.to_owned(),
        Some(rest) => format!("−{rest}"),
        None => text,
    }
}

/// Seconds as minutes and seconds, or as hours and minutes.
pub(crate) fn clock(seconds: f64) -> String {
    let whole = seconds.max(0.0).round() as u64;
    if whole >= 3600 {
        format!("{} h {:02} min", whole / 3600, whole / 60 % 60)
    } else {
        format!("{} min {:02} s", whole / 60, whole % 60)
    }
}

/// A round step, 1, 2 or 5 times a power of ten, of at least a length.
pub(crate) fn round_step(least: f64) -> f64 {
    let power = 10.0f64.powf(least.max(1e-9).log10().floor());
    [1.0, 2.0, 5.0, 10.0]
        .map(|times| times * power)
        .into_iter()
        .find(|step| *step >= least * 0.999)
        .unwrap_or(10.0 * power)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_very_large_window_has_larger_text_unless_the_system_sees_to_it() {
        let at = |width: f32, height: f32, native: f32| suited(egui::vec2(width, height), native);
        assert_eq!([at(1024.0, 700.0, 1.0), at(1600.0, 1000.0, 1.0), at(2560.0, 1440.0, 1.0)], [1.0; 3]);
        assert_eq!(at(3840.0, 2160.0, 1.0), 1.75);
        assert_eq!([at(3840.0, 2160.0, 2.0), at(3840.0, 1000.0, 1.0), at(9000.0, 6000.0, 1.0)], [1.0, 1.0, 2.0]);
    }

    #[test]
    fn numbers_and_steps_read_well() {
        assert_eq!(number(-0.0001, 2), "0.00");
        assert_eq!(number(-1.25, 1), "−1.2");
        assert_eq!([0.7, 1.0, 1.1, 23.0, 600.0].map(round_step), [1.0, 1.0, 2.0, 50.0, 1000.0]);
        assert_eq!((clock(75.4), clock(3700.0)), ("1 min 15 s".to_owned(), "1 h 01 min".to_owned()));
    }

    /// Relative luminance of WCAG 2.
    fn luminance(color: Color32) -> f64 {
        let part = |it: u8| {
            let it = f64::from(it) / 255.0;
            if it <= 0.04045 { it / 12.92 } else { ((it + 0.055) / 1.055).powf(2.4) }
        };
        0.2126 * part(color.r()) + 0.7152 * part(color.g()) + 0.0722 * part(color.b())
    }

    #[test]
    fn words_stand_out_from_what_they_lie_on() {
        for theme in [Theme::new(false), Theme::new(true)] {
            for ground in [theme.paper, theme.sheet, theme.wash] {
                for (color, least) in [(theme.ink, 7.0), (theme.soft, 4.5), (theme.mark, 4.5)] {
                    let (a, b) = (luminance(color), luminance(ground));
                    let contrast = (a.max(b) + 0.05) / (a.min(b) + 0.05);
                    assert!(contrast >= least, "{color:?} on {ground:?}: {contrast:.2}");
                }
            }
        }
    }

    /// Colours as they are seen without one kind of cone: from linear sRGB to linear sRGB, severity 1.0 of Machado, Oliveira and
    /// Fernandes, *A physiologically-based model for simulation of color vision deficiency*, IEEE TVCG 15 (2009), table 1.
    const WITHOUT: [[[f64; 3]; 3]; 3] = [
        [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]],
        [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]],
        [[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602], [0.004733, 0.691367, 0.303900]],
    ];

    /// CIE L*a*b* (D65) of a colour as it is seen through a matrix.
    fn lab(color: Color32, seen: &[[f64; 3]; 3]) -> [f64; 3] {
        let linear = |it: u8| {
            let it = f64::from(it) / 255.0;
            if it <= 0.04045 { it / 12.92 } else { ((it + 0.055) / 1.055).powf(2.4) }
        };
        let rgb = [color.r(), color.g(), color.b()].map(linear);
        let through = |rows: &[[f64; 3]; 3], of: [f64; 3]| {
            [0, 1, 2].map(|row| (0..3).map(|k| rows[row][k] * of[k]).sum::<f64>().clamp(0.0, 1.1))
        };
        let to_xyz =
            [[0.4124564, 0.3575761, 0.1804375], [0.2126729, 0.7151522, 0.0721750], [0.0193339, 0.1191920, 0.9503041]];
        let [x, y, z] = through(&to_xyz, through(seen, rgb).map(|it| it.min(1.0)));
        let f = |it: f64| if it > 0.008856 { it.cbrt() } else { 7.787 * it + 16.0 / 116.0 };
        let [x, y, z] = [f(x / 0.95047), f(y), f(z / 1.08883)];
        [116.0 * y - 16.0, 500.0 * (x - y), 200.0 * (y - z)]
    }

    #[test]
    fn cutters_are_told_apart_whichever_cones_one_has() {
        let whole = [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]];
        for theme in [Theme::new(false), Theme::new(true)] {
            for seen in WITHOUT.iter().chain([&whole]) {
                for (one, other) in (0..7u16).flat_map(|one| (0..one).map(move |other| (one, other))) {
                    let [a, b] = [one, other].map(|it| lab(theme.cutter(it), seen));
                    let apart = (0..3).map(|k| (a[k] - b[k]).powi(2)).sum::<f64>().sqrt();
                    assert!(apart > 10.0, "cutters {one} and {other}: {apart:.1} through {seen:?}");
                }
            }
        }
    }
}
