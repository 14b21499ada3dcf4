// Red: shadow of the key light. Green: how close above the table there is paper. Inputs, spaces and units: README.md.

// Height above the table at which paper darkens it half as much by nearness, mm.
const float NEARNESS = 22.0;

in float height;

out vec4 colour;

void main() {
    colour = vec4(1.0, exp2(-height / NEARNESS), 0.0, 1.0);
}
