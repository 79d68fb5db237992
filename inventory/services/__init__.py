"""One module per task of the shop. Each public function that writes is one transaction, on disk when it returns."""
