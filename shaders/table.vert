// The table under the sack: a square of the plane. Inputs, spaces and units: README.md.

uniform mat4 clipFromSpace;
uniform vec3 middle;
uniform float reach;

in vec2 corner;

out vec2 place;
out vec2 away;

void main() {
    away = corner;
    place = middle.xy + corner * reach;
    gl_Position = clipFromSpace * vec4(place, middle.z, 1.0);
    // The table lies behind everything, as far as can be: it is drawn after the paper, where there is none, and near
    // and far can stay close around the sack.
    gl_Position.z = gl_Position.w * 0.999999;
}
