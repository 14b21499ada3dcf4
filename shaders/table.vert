// The table under the sack: a square of the plane with a hole where the sack lies. Inputs, spaces and units: README.md.

uniform mat4 clipFromSpace;
uniform vec3 middle;
uniform float reach;
uniform vec4 covered;

in vec3 corner;

out vec2 place;
out vec2 away;

void main() {
    bool atHole = corner.z > 0.5;
    place = atHole ? mix(covered.xy, covered.zw, corner.xy * 0.5 + 0.5) : middle.xy + corner.xy * reach;
    away = (place - middle.xy) / reach;
    gl_Position = clipFromSpace * vec4(place, middle.z, 1.0);
    // The table lies behind everything and is drawn first: no depth of its own, so near and far can stay close.
    gl_Position.z = 0.0;
}
