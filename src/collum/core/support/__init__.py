"""What holds the tooth: crown-to-root ratio, lever, attached area, room to the furcation. The topics above may use it."""
