"""What stands where: species, zones, sites, trees, measurements, and who may change them."""
