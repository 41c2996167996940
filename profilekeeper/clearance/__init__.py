"""How much room there is: swept solids of revolution against prisms, certified."""
