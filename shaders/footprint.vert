// The sack's shadow on the table, thrown along the light or straight down. Inputs, spaces and units: README.md.

uniform vec4 footprint;
uniform vec2 slide;
uniform float tableHeight;

in vec3 position;

out float height;

void main() {
    height = position.z - tableHeight;
    vec2 at = (position.xy - slide * height - footprint.xy) / footprint.zw;
    gl_Position = vec4(at * 2.0 - 1.0, 0.0, 1.0);
}
