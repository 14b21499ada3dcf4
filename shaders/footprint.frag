// Red: shadow of the key light. Green: how close above the table there is paper. Inputs, spaces and units: README.md.

uniform float reach;

in float height;

out vec4 colour;

void main() {
    colour = vec4(1.0, exp2(-height / reach), 0.0, 1.0);
}
