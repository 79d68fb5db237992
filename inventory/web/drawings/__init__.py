"""SVG drawings of offcuts, cuts, glue-ups and boards, and charts; they compute nothing but places on the paper."""
