// Paper: kraft with fibres, in the light that reaches it. Inputs, spaces and units: README.md.
//
// Compiled once for each set of GRAIN, SHADOW, SEAM, LIT, WALL, BOTTOM and PRINT that a picture needs: software renderers work
// through every branch for every pixel. WALL and BOTTOM draw what lies on a filled sack, by the chart.

#ifdef SHADOW
uniform highp sampler2DShadow shadowMap;
in vec3 dark;
in vec3 inLight;
#endif
#ifdef GRAIN
uniform sampler2D grainMap;
#endif
#ifdef PRINT
uniform sampler2D artwork;
uniform vec4 patchSizes;
#endif
#if defined(WALL) || defined(PRINT)
uniform float faceWidth;
uniform vec2 rims;
#endif
#ifdef WALL
uniform vec2 foldBacks;
#endif
#ifdef BOTTOM
uniform vec4 plan;
uniform float last;
uniform vec3 patchPlace;
uniform float plainEnd;
uniform vec3 sleevePlace;
uniform vec3 wallTones[2];
uniform vec3 patchTone;
uniform vec3 sleeveTone;
uniform int litParts;
#endif

in vec3 bright;
in vec2 chart;
flat in uint flags;

out vec4 colour;

const uint LIT_FLAG = 1u;
const uint SEAM_FLAG = 2u;
const uint INNER_FLAG = 4u;
const uint PRINTED_FLAG = 128u;
const uint PATCH = 6u;

#ifdef SEAM
// The seam: the edge of the overlap as a fine line, with the step's soft shade beside it. 1: plain paper.
float seam() {
    uint ply = (flags >> 3u) & 7u;
    float middle = ply < 4u ? seamFirst[int(ply)] : seamLast[int(ply) - 4];
    // Outside one edge of the overlap shows, inside the other.
    float side = (flags & INNER_FLAG) != 0u ? -1.0 : 1.0;
    float off = (chart.x - middle) * side - 0.5 * seamLap;
    float px = max(fwidth(chart.x), 1e-4);
    float line = 1.0 - smoothstep(0.0, 1.0, abs(off) / (0.25 + 0.8 * px));
    float shade = off > 0.0 ? exp2(-off * 0.5) : 0.0;
    return 1.0 - 0.22 * line - 0.06 * shade;
}
#endif

#if defined(WALL) || defined(BOTTOM)
// How much a line covers that is so many px off.
float line(float off) {
    return clamp(0.5 * widths.x * pixel + 0.5 - abs(off), 0.0, 1.0);
}
#endif

#ifdef WALL
// Ink on a wall: its rims, and fainter the side folds, the fold-back lines on wall A and the corners' creases.
float creases() {
    vec2 px = max(fwidth(chart), vec2(1e-4));
    float side = chart.x - faceWidth * round(chart.x / faceWidth);
    float ink = 0.30 * line(side / px.x);
    bool front = chart.x > 0.0 && chart.x < faceWidth;
    for (int end = 0; end < 2; end++) {
        // From the rim into the sack.
        float inward = end == 0 ? chart.y - rims.x : rims.y - chart.y;
        float deep = end == 0 ? foldBacks.x - rims.x : rims.y - foldBacks.y;
        ink = max(ink, line(inward / px.y));
        if (front) {
            ink = max(ink, 0.36 * line((inward - deep) / px.y));
        }
        if (inward < deep) {
            ink = max(ink, 0.30 * line((abs(side) + inward - deep) / (px.x + px.y)));
        }
    }
    return ink;
}
#endif

#ifdef BOTTOM
// What lies on a bottom, from below: pockets, sleeve, the flap folded first, the other, the patch. The part of the tone
// that is left, and ink in the fourth; and which of the bottom's parts is on top.
void lay(inout vec4 sheet, inout int top, float inside, vec3 tone, int part) {
    sheet = mix(sheet, vec4(tone, 0.0), clamp(inside + 0.5, 0.0, 1.0));
    sheet.a = max(sheet.a, line(inside));
    top = inside > 0.0 ? part : top;
}

vec4 bottom(out int top) {
    vec2 px = max(fwidth(chart), vec2(1e-4));
    float x = abs(chart.x);
    vec2 depth = 0.5 * plan.x + vec2(chart.y, -chart.y);
    vec4 sheet = vec4(0.94 * (chart.y < 0.0 ? wallTones[0] : wallTones[1]), 0.4 * line(chart.y / px.y));
    top = chart.x > 0.0 ? 3 : 2;
    if (sleevePlace.x * chart.x > 0.0) {
        lay(sheet, top, (0.5 * sleevePlace.y - abs(chart.y - sleevePlace.z)) / px.y, sleeveTone, 5);
    }
    vec2 flaps = min((plan.zw - depth) / px.y, (plan.y - depth - x) / (px.x + px.y));
    int wall = last > 0.5 ? 1 : 0;
    lay(sheet, top, flaps[1 - wall], wallTones[1 - wall], 1 - wall);
    lay(sheet, top, flaps[wall], wallTones[wall], wall);
    vec2 onPatch = 0.5 * patchPlace.xy - abs(chart - vec2(patchPlace.z, 0.0));
    lay(sheet, top, min(onPatch.x / px.x, onPatch.y / px.y), patchTone, 4);
    // The bottom's own edges; at the sleeve's mouth a heavier one.
    float end = (plan.y - x) / px.x;
    float mouth = sleevePlace.x * chart.x > 0.0 && abs(chart.y - sleevePlace.z) < 0.5 * sleevePlace.y ? 1.0 : 0.0;
    sheet.a = max(sheet.a, max(line(min(depth.x, depth.y) / px.y), line(end - mouth * widths.x * pixel)));
    return sheet;
}
#endif

void main() {
    vec3 paper = bright;
#ifdef SHADOW
    // Four texels of depth, weighted.
    paper = mix(bright, dark, relief * (1.0 - texture(shadowMap, inLight)));
#endif
    float light = paper.g;
#ifdef GRAIN
    vec2 g = textureLod(grainMap, chart * vec2(1.0 / 110.0, 1.0 / 150.0), paperLevel).rg - 0.5;
    paper *= 1.0 + g.r * 0.21 + g.g * 0.06;
#endif
#ifdef BOTTOM
    int top;
    vec4 sheet = bottom(top);
    paper = mix(paper * sheet.rgb, inkTone, sheet.a);
#endif
#ifdef PRINT
    // In the picture, 0 to 1: front and back beside each other, the patches below them.
#ifdef BOTTOM
    bool printed = top == 4;
    // Seen from outside, left and right change places from one end to the other.
    vec2 onPatch = vec2((chart.x - patchPlace.z) * (1.0 - 2.0 * plainEnd), -chart.y) / patchPlace.xy + 0.5;
    vec2 print = vec2(0.5 * (onPatch.x + plainEnd), 0.75 + 0.25 * onPatch.y);
#else
    uint sheet = (flags >> 3u) & 7u;
    vec2 onFaces = vec2(0.5 * chart.x / faceWidth, (chart.y - rims.x) / (rims.y - rims.x));
    vec2 onPatch = chart / (sheet == PATCH ? patchSizes.xy : patchSizes.zw);
    vec2 print = sheet < PATCH ? vec2(onFaces.x, 0.75 * onFaces.y)
        : vec2(0.5 * onPatch.x + (sheet == PATCH ? 0.0 : 0.5), 0.75 + 0.25 * onPatch.y);
    bool printed = (flags & PRINTED_FLAG) != 0u && (sheet >= PATCH || abs(onFaces.y - 0.5) < 0.5);
#endif
    // Inks are transparent: what is white in the picture is paper.
    vec3 ink = texture(artwork, print).rgb;
    paper *= printed ? ink : vec3(1.0);
#endif
#ifdef WALL
    paper = mix(paper, inkTone, creases());
#endif
#ifdef SEAM
    if ((flags & SEAM_FLAG) != 0u) {
        paper *= seam();
    }
#endif
#ifdef LIT
#ifdef BOTTOM
    bool lit = ((litParts >> top) & 1) != 0;
#else
    bool before = chart.y <= litBand.z, behind = chart.y >= litBand.w;
    bool lit = chart.x >= litBand.x && chart.x <= litBand.y && (litBand.z > litBand.w ? before && behind : before || behind);
#endif
    if (lit && (flags & LIT_FLAG) != 0u) {
        // A tint for the eye and a hatch for whoever does not see the tint.
        float across = chart.x + chart.y;
        float stripe = abs(fract(across / 9.0) - 0.5) * 2.0;
        float soft = clamp(fwidth(across) / 4.5, 0.02, 1.0);
        float hatch = smoothstep(0.62 - soft, 0.62 + soft, stripe);
        paper = mix(paper, litTone * (0.45 + light), 0.30 + 0.50 * hatch);
    }
#endif
    colour = vec4(paper, 1.0);
}
