"""The law of life: installations become lives, and one fit for the fleet says how long they last."""
