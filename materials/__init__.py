"""Screen fabrics and room finishes: what they give back, in which direction. Materials know no rooms."""
