"""Money: what each product, work order and order line costs, to the cent."""
