// The table under the sack: a square of the plane in nine cells, of which the one in the middle is where the sack's shadow
// may be. Inputs, spaces and units: README.md.

in vec2 corner;

out vec2 place;
out vec2 away;
#ifdef SHADOW
out vec2 onMap;
#endif

void main() {
    // From 0 to 3 in both directions: the square's sides, with those of the footprint between them.
    vec2 low = middle.xy - reach;
    vec2 high = middle.xy + reach;
    vec2 near = clamp(footprint.xy, low, high);
    vec2 far = clamp(footprint.xy + footprint.zw, low, high);
    vec2 before = mix(low, near, min(corner, 1.0));
    vec2 behind = mix(far, high, max(corner - 2.0, 0.0));
    place = mix(before, behind, step(1.5, corner));
    away = (place - middle.xy) / reach;
#ifdef SHADOW
    onMap = (place - footprint.xy) / footprint.zw;
#endif
    gl_Position = clipFromSpace * vec4(place, middle.z, 1.0);
    // The table lies behind everything, as far as can be: it is drawn after the paper, where there is none, and near
    // and far can stay close around the sack.
    gl_Position.z = gl_Position.w * 0.999999;
}
