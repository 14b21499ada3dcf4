// Paper: kraft with fibres, in the light that reaches it. Inputs, spaces and units: README.md.

uniform highp sampler2D shadowMap;
uniform sampler2D grainMap;
uniform float grain;
uniform float grainLevel;
uniform float shadow;
uniform vec3 litTone;
uniform vec4 litBand;
uniform vec4 seamFirst;
uniform vec2 seamLast;
uniform float seamLap;

in vec3 dark;
in vec3 bright;
in vec3 inLight;
in vec2 chart;
flat in uint flags;

out vec4 colour;

const uint LIT = 1u;
const uint SEAM = 2u;
const uint INNER = 4u;

// Part of the key light that arrives, 0 to 1: four texels of depth, weighted; two that agree speak for all four.
float arrives() {
    ivec2 size = textureSize(shadowMap, 0);
    vec2 at = clamp(inLight.xy, 0.0, 1.0) * vec2(size) - 0.5;
    ivec2 corner = clamp(ivec2(floor(at)), ivec2(0), size - 2);
    float depth = min(inLight.z, 1.0);
    float near = step(depth, texelFetch(shadowMap, corner, 0).r);
    float far = step(depth, texelFetch(shadowMap, corner + ivec2(1, 1), 0).r);
    if (near == far) {
        return near;
    }
    vec2 f = at - vec2(corner);
    float right = step(depth, texelFetch(shadowMap, corner + ivec2(1, 0), 0).r);
    float up = step(depth, texelFetch(shadowMap, corner + ivec2(0, 1), 0).r);
    return mix(mix(near, right, f.x), mix(up, far, f.x), f.y);
}

// The seam: the edge of the overlap as a fine line, with the step's soft shade beside it. 1: plain paper.
float seam() {
    uint ply = (flags >> 3u) & 7u;
    float middle = ply < 4u ? seamFirst[int(ply)] : seamLast[int(ply) - 4];
    // Outside one edge of the overlap shows, inside the other.
    float side = (flags & INNER) != 0u ? -1.0 : 1.0;
    float off = (chart.x - middle) * side - 0.5 * seamLap;
    float px = max(fwidth(chart.x), 1e-4);
    float line = 1.0 - smoothstep(0.0, 1.0, abs(off) / (0.25 + 0.8 * px));
    float shade = off > 0.0 ? exp2(-off * 0.5) : 0.0;
    return 1.0 - 0.22 * line - 0.06 * shade;
}

void main() {
    vec3 paper = bright;
    if (shadow > 0.0 && bright.g > dark.g) {
        paper = mix(dark, bright, 1.0 - shadow * (1.0 - arrives()));
    }
    float light = paper.g;
    if (grain > 0.0) {
        vec2 g = textureLod(grainMap, chart * vec2(1.0 / 110.0, 1.0 / 150.0), grainLevel).rg - 0.5;
        paper *= 1.0 + grain * (g.r * 0.21 + g.g * 0.06);
    }
    if ((flags & SEAM) != 0u) {
        paper *= seam();
    }
    if ((flags & LIT) != 0u
        && chart.x >= litBand.x && chart.x <= litBand.y
        && (chart.y <= litBand.z || chart.y >= litBand.w)) {
        // A tint for the eye and a hatch for whoever does not see the tint.
        float across = chart.x + chart.y;
        float stripe = abs(fract(across / 9.0) - 0.5) * 2.0;
        float soft = clamp(fwidth(across) / 4.5, 0.02, 1.0);
        float hatch = smoothstep(0.62 - soft, 0.62 + soft, stripe);
        paper = mix(paper, litTone * (0.45 + light), 0.30 + 0.50 * hatch);
    }
    colour = vec4(paper, 1.0);
}
