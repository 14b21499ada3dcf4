//! A tile of paper fibres, clouds and wood grain, drawn once by computation: no picture is loaded.
//!
//! Fibres are short bent strokes, most of them along the machine direction (v), as a paper machine lays them; the
//! cloud is the uneven formation that one sees against the light; the wood is the bench under the sack.

/// Side of the square tile, texels. It repeats in both directions.
pub const SIDE: usize = 256;
/// Fibres on the tile.
const FIBRES: usize = 2600;
/// A texel without any grain.
const NEUTRAL: f32 = 128.0;

/// Channels of a texel: fibres, cloud, wood, unused (255); 128 is neutral.
#[must_use]
pub fn tile() -> Vec<[u8; 4]> {
    let mut random = Random(0x2545_f491);
    let mut fibres = vec![0.0f32; SIDE * SIDE];
    for _ in 0..FIBRES {
        fibre(&mut fibres, &mut random);
    }
    let cloud = cloud(&mut random, [(8, 8, 1.0), (16, 16, 0.6), (32, 32, 0.35)]);
    let wood = cloud_of_wood(&mut random);
    (0..SIDE * SIDE).map(|i| [texel(fibres[i] * 26.0), texel(cloud[i] * 60.0), texel(wood[i] * 60.0), 255]).collect()
}

fn texel(value: f32) -> u8 {
    // Saturates by the rules of `as`: that is what a texel should do.
    (NEUTRAL + value) as u8
}

/// One bent stroke, lighter or darker than the sheet.
fn fibre(sheet: &mut [f32], random: &mut Random) {
    let (mut x, mut y) = (random.unit() * SIDE as f32, random.unit() * SIDE as f32);
    // Squared: most fibres lie near the machine direction.
    let lean = random.signed();
    let mut heading = std::f32::consts::FRAC_PI_2 + lean * lean.abs() * 1.3;
    let bend = random.signed() * 0.05;
    let shade = random.signed();
    let length = 10.0 + 26.0 * random.unit();
    for _ in 0..length as usize {
        let (column, row) = (x.rem_euclid(SIDE as f32), y.rem_euclid(SIDE as f32));
        let index = (row as usize).min(SIDE - 1) * SIDE + (column as usize).min(SIDE - 1);
        sheet[index] += shade;
        x += libm::cosf(heading);
        y += libm::sinf(heading);
        heading += bend;
    }
}

/// Smooth noise that repeats: lattices of (columns, rows, strength), added up.
fn cloud<const N: usize>(random: &mut Random, octaves: [(usize, usize, f32); N]) -> Vec<f32> {
    let mut sum = vec![0.0f32; SIDE * SIDE];
    for (columns, rows, strength) in octaves {
        let lattice: Vec<f32> = (0..columns * rows).map(|_| random.signed()).collect();
        let at = |c: usize, r: usize| lattice[(r % rows) * columns + c % columns];
        for row in 0..SIDE {
            let (r, fr) = cell(row, rows);
            for column in 0..SIDE {
                let (c, fc) = cell(column, columns);
                let low = at(c, r) + (at(c + 1, r) - at(c, r)) * fc;
                let high = at(c, r + 1) + (at(c + 1, r + 1) - at(c, r + 1)) * fc;
                sum[row * SIDE + column] += strength * (low + (high - low) * fr);
            }
        }
    }
    sum
}

/// Long streaks across the tile: few columns, many rows.
fn cloud_of_wood(random: &mut Random) -> Vec<f32> {
    cloud(random, [(2, 24, 0.8), (4, 64, 0.7), (8, 128, 0.5)])
}

/// The lattice cell of a texel and the smoothed fraction within.
fn cell(texel: usize, cells: usize) -> (usize, f32) {
    let scaled = texel * cells;
    let f = (scaled % SIDE) as f32 / SIDE as f32;
    (scaled / SIDE, f * f * (3.0 - 2.0 * f))
}

/// The same numbers on every machine and at every start: the picture must not change from visit to visit.
struct Random(u32);

impl Random {
    /// 0 to 1.
    fn unit(&mut self) -> f32 {
        // xorshift, 32 bits (Marsaglia 2003).
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 17;
        self.0 ^= self.0 << 5;
        (self.0 >> 8) as f32 / (1u32 << 24) as f32
    }

    /// -1 to 1.
    fn signed(&mut self) -> f32 {
        self.unit() * 2.0 - 1.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_tile_is_neutral_on_the_whole_and_the_same_each_time() {
        let tile = tile();
        assert_eq!(tile.len(), SIDE * SIDE);
        assert!(tile == super::tile());
        for channel in 0..3 {
            let sum: f64 = tile.iter().map(|texel| f64::from(texel[channel])).sum();
            let mean = sum / tile.len() as f64;
            assert!((mean - 128.0).abs() < 12.0, "channel {channel}: {mean}");
        }
    }

    #[test]
    fn fibres_run_along_v() {
        let tile = tile();
        let step = |dx: usize, dy: usize| -> f64 {
            let mut sum = 0.0;
            for y in 0..SIDE - dy {
                for x in 0..SIDE - dx {
                    let here = f64::from(tile[y * SIDE + x][0]);
                    sum += (here - f64::from(tile[(y + dy) * SIDE + x + dx][0])).abs();
                }
            }
            sum
        };
        assert!(step(0, 1) < 0.8 * step(1, 0));
    }
}
