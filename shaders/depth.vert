// The sack as the key light sees it, for the shadow map. Inputs, spaces and units: README.md.

uniform mat4 lightFromSpace;

in vec3 position;

void main() {
    vec3 p = (lightFromSpace * vec4(position, 1.0)).xyz;
    gl_Position = vec4(p * 2.0 - 1.0, 1.0);
}
