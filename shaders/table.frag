// The table: wood or slate, fading into the background, with the sack's shadow. Inputs, spaces and units: README.md.

uniform sampler2D footprintMap;
uniform sampler2D grainMap;
uniform vec3 tableTone;
uniform vec3 backgroundTone;
uniform vec4 footprint;
uniform float wood;
uniform float grain;
uniform float grainLevel;
uniform float shadow;

in vec2 place;
in vec2 away;

out vec4 colour;

void main() {
    // In sRGB throughout: a table needs no light of its own, and no roots.
    float fade = max(1.0 - dot(away, away), 0.0);
    float shade = 1.0;
    if (grain > 0.0) {
        vec2 g = textureLod(grainMap, place * vec2(1.0 / 1100.0, 1.0 / 330.0), grainLevel).gb - 0.5;
        shade += grain * mix(g.x * 0.16, g.y * 0.08, wood);
    }
    if (shadow > 0.0) {
        vec2 at = (place - footprint.xy) / footprint.zw;
        vec2 off = abs(at - 0.5);
        if (max(off.x, off.y) < 0.5) {
            vec2 near = textureLod(footprintMap, at, 2.0).rg;
            shade *= 1.0 - shadow * max(near.r * 0.6, near.g * 0.75);
        }
    }
    colour = vec4(mix(backgroundTone, tableTone * shade, fade * fade), 1.0);
}
